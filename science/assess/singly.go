package assess

import (
	"math"

	"knownwater/science/note"
	"knownwater/science/reading"
)

// saySingly lets single readings speak. One whose whole interval lies below its
// known (less two of the known's standard uncertainties) was read low there,
// whatever the scatter. Named are the knowns at which every single reading lay
// on one side, as a pattern where they reach from one known to the top or from
// the bottom up, and the slopes that straight lines without any scatter have
// which pass through all the readings.
func (st *study) saySingly() {
	if reading.Of(st.method.Kind).Signal {
		return
	}
	below, above := make([]bool, len(st.levels)), make([]bool, len(st.levels))
	for i := range st.levels {
		below[i], above[i] = true, true
	}
	at := map[float64]int{}
	for i, l := range st.levels {
		at[l.value] = i
	}
	for _, o := range st.obs {
		i := at[o.Level]
		l, seen := st.levels[i], o.On()
		below[i] = below[i] && seen.High < l.value-agrees*l.u
		above[i] = above[i] && seen.Low > l.value+agrees*l.u
	}
	st.singlesOn("below", below)
	st.singlesOn("above", above)
	st.sayStraight()
}

// where lists the levels at which something holds.
func (st *study) where(holds []bool) (levels []float64) {
	for i, yes := range holds {
		if yes {
			levels = append(levels, st.levels[i].value)
		}
	}
	return levels
}

// singlesOn says at which knowns all single readings lay on a side: from one up,
// up to one, or each by itself.
func (st *study) singlesOn(side string, holds []bool) {
	levels := st.where(holds)
	if len(levels) == 0 {
		return
	}
	n, first, last := len(st.levels), -1, -1
	for i, yes := range holds {
		if yes {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	together := last-first+1 == len(levels) && len(levels) > 1
	switch {
	case together && last == n-1:
		st.note(note.New("singles-from").Name("side", side).Number("level", levels[0]))
	case together && first == 0:
		st.note(note.New("singles-up-to").Name("side", side).Number("level", levels[len(levels)-1]))
	default:
		st.note(note.New("singles-at").Name("side", side).Number("level", levels...))
	}
}

// sayStraight finds the slopes of the straight lines that pass through every
// reading's interval. A line y = a + b·c does so where for every two readings
// low_i − b·c_i ≤ high_j − b·c_j, so that b lies between the largest
// (low_i − high_j)/(c_i − c_j) with c_i > c_j and the smallest
// (high_i − low_j)/(c_i − c_j) (Fourier 1826, elimination of a).
func (st *study) sayStraight() {
	if low, high, ok := st.straight(); ok && low >= 0 && !math.IsInf(high, 1) {
		st.note(note.New("straight-through").Number("slope", low, high))
	}
}

func (st *study) straight() (low, high float64, ok bool) {
	if n := len(st.levels); n < 2 || n > mostStraight {
		return 0, 0, false
	}
	return straightThrough(st.levels, st.bothEnds())
}

// passes says whether a straight line passes through the steps of all readings. Two
// neighbouring answers at one known, the boundary between them on the line, are then no sign of
// scatter: as means are free, that they lie at boundaries at all would else be told as spread.
func (st *study) passes() bool {
	if st.showsNumbers() {
		return false
	}
	_, _, ok := st.straight()
	return ok
}

// mostStraight bounds the knowns that are looked at in pairs.
const mostStraight = 1000

// straightThrough are the least and the largest slope; false where no line
// passes through all.
func straightThrough(levels []level, ends [][2]float64) (low, high float64, ok bool) {
	low, high = math.Inf(-1), math.Inf(1)
	for i, a := range levels {
		if ends[i][0] > ends[i][1] { // two readings at one known share nothing
			return 0, 0, false
		}
		for j, b := range levels[:i] {
			d := a.value - b.value
			low = math.Max(low, (ends[i][0]-ends[j][1])/d)
			high = math.Min(high, (ends[i][1]-ends[j][0])/d)
		}
	}
	return low, high, low <= high
}

// bothEnds are the highest low end and the lowest high end at each level.
func (st *study) bothEnds() [][2]float64 {
	ends := make([][2]float64, len(st.levels))
	for i := range ends {
		ends[i] = [2]float64{math.Inf(-1), math.Inf(1)}
	}
	at := map[float64]int{}
	for i, l := range st.levels {
		at[l.value] = i
	}
	for _, o := range st.obs {
		e, seen := &ends[at[o.Level]], o.On()
		e[0], e[1] = math.Max(e[0], seen.Low), math.Min(e[1], seen.High)
	}
	return ends
}
