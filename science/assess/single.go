package assess

import (
	"slices"
	"sort"

	"knownwater/science/record"
)

// turnAt is how corrected results at c come about: through the response fitted
// without the known at c, where there is one that is not the lowest or highest.
func (st *study) turnAt(c float64) turn {
	without, _ := st.turnsAt(c)
	return without
}

// turnsAt are that, and the response that was found, which is what results are corrected by
// after the trial: a known that is left out of a curve through the means leaves a gap twice as wide as any
// that the curve has, and what is missed there tells nothing against what is missed with it.
func (st *study) turnsAt(c float64) (without, found turn) {
	without, found = st.turnNow(c), turn{st.rec.Grid, st.rec.Mean}
	if st.ahead == nil {
		return without, found
	}
	by := st.ahead.shift(c)
	if found.is(without) {
		found = found.moved(by)
		return found, found
	}
	return without.moved(by), found.moved(by)
}

// turnNow is that by the readings there are.
func (st *study) turnNow(c float64) turn {
	for i, l := range st.levels {
		if l.value == c && i > 0 && i < len(st.levels)-1 {
			if t, ok := st.turnWithout(i); ok {
				return t
			}
		}
	}
	return turn{st.rec.Grid, st.rec.Mean}
}

// turn is a response tabulated for turning readings round.
type turn struct{ grid, mean []float64 }

// turnWithout is the response fitted without level i.
func (st *study) turnWithout(i int) (turn, bool) {
	if t, ok := st.without[i]; ok {
		return t, t.grid != nil
	}
	if st.without == nil {
		st.without = map[int]turn{}
	}
	t := turn{}
	at := slices.Index(st.bendAt, i)
	if at < 0 { // the response is without it already
		return t, false
	}
	others := []int{}
	for j := range st.bendAt {
		if j != at {
			others = append(others, j)
		}
	}
	less := st.bend.Undrawn().Only(others)
	less.Near = st.resp
	if resp, err := record.Fit(less); err == nil {
		t.grid = st.rec.Grid
		for _, c := range t.grid {
			t.mean = append(t.mean, resp.At(c))
		}
	}
	st.without[i] = t
	return t, t.grid != nil
}

// at is the tabulated response, going on straight beyond its ends.
func (t turn) at(c float64) float64 {
	n := len(t.grid)
	i := min(max(sort.SearchFloat64s(t.grid, c), 1), n-1)
	return t.mean[i-1] + (t.mean[i]-t.mean[i-1])*(c-t.grid[i-1])/(t.grid[i]-t.grid[i-1])
}

// from is the response and its slope at c, looked for from piece *i on.
func (t turn) from(i *int, c float64) (y, slope float64) {
	k := max(*i, 1)
	for k < len(t.grid)-1 && c > t.grid[k] {
		k++
	}
	for k > 1 && c <= t.grid[k-1] {
		k--
	}
	*i = k
	slope = (t.mean[k] - t.mean[k-1]) / (t.grid[k] - t.grid[k-1])
	return t.mean[k-1] + slope*(c-t.grid[k-1]), slope
}

func (t turn) top() float64 { return t.grid[len(t.grid)-1] }

// is says whether two are one.
func (t turn) is(other turn) bool { return &t.mean[0] == &other.mean[0] }

// moved is the response moved by a constant.
func (t turn) moved(by float64) turn {
	mean := make([]float64, len(t.mean))
	for i, y := range t.mean {
		mean[i] = y + by
	}
	return turn{t.grid, mean}
}
