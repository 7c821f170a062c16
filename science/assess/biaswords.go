package assess

import (
	"math"
	"slices"

	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/record"
	"knownwater/science/response"
)

// The sides on which a method may read.
const (
	readsLow   = "low"
	readsHigh  = "high"
	readsRight = "right" // within rightShare of the known
	readsOpen  = "open"  // neither high nor low is shown
)

// rightShare is how far off the known, as a share of it, still counts as right.
const rightShare = 0.05

// stretch is neighbouring knowns at which a method reads on one side.
type stretch struct {
	side        string
	from, to    float64
	first, last float64 // bias at the ends
}

// sayBias puts the bias in words along the response: the sides on which the
// method reads, from where to where and by how much. A side is shown where the
// 95 % band of response − known lies on it; without repeats, where the
// whole of a single reading does and by more than rightShare, and then it is
// said that single readings tell it. A known at which neither side is shown, and whose own
// interval lies on one side of it all the same, is named beside.
func (st *study) sayBias() {
	if reading.Of(st.method.Kind).Signal {
		return
	}
	var all []stretch
	told := false
	var aloneLow, aloneHigh []float64
	var bands [][2]float64
	if st.rec != nil && st.post != nil {
		bands = st.biasBands()
	}
	for i, l := range st.levels {
		side, bias := st.side(i, bands)
		if side == "" {
			continue
		}
		told = told || side != readsOpen
		if f := st.finding.Levels[i]; side == readsOpen && f.BiasHigh < 0 {
			aloneLow = append(aloneLow, l.value)
		} else if side == readsOpen && f.BiasLow > 0 {
			aloneHigh = append(aloneHigh, l.value)
		}
		if n := len(all); n > 0 && all[n-1].side == side {
			all[n-1].to, all[n-1].last = l.value, bias
			continue
		}
		all = append(all, stretch{side, l.value, l.value, bias, bias})
	}
	if !told {
		return
	}
	var sides []string
	var from, to, first, last []float64
	for _, s := range all {
		sides = append(sides, s.side)
		from, to = append(from, s.from), append(to, s.to)
		first, last = append(first, s.first), append(last, s.last)
	}
	n := note.New("reads")
	if st.post == nil {
		n = note.New("reads-singly")
	}
	n = n.Name("side", sides...).Number("from", from...).Number("to", to...).Number("first", first...).Number("last", last...).
		Number("ends", st.levels[0].value, st.top())
	if aloneLow != nil {
		n = n.Number("alone_low", aloneLow...)
	}
	if aloneHigh != nil {
		n = n.Number("alone_high", aloneHigh...)
	}
	st.note(n)
}

// side says on which side the method reads at level i, and by how much.
func (st *study) side(i int, bands [][2]float64) (string, float64) {
	l := st.levels[i]
	if st.post == nil {
		return st.singleSide(i)
	}
	if st.rec == nil {
		return "", 0
	}
	low, high := bands[i][0], bands[i][1]
	side := sideOf(low, high, l.value)
	f, bent := st.finding.Levels[i], st.resp.Shape.Name != response.Line
	if bent && (side == readsLow && f.BiasHigh >= 0 || side == readsHigh && f.BiasLow <= 0) {
		side = readsOpen // it may follow readings that scatter
	}
	return side, st.rec.Best(l.value) - l.value
}

// biasBands are limits of response − known that hold at all knowns at once under the wide prior:
// what is said of a method's sides is one sentence, and by limits that hold at each known
// alone a method without bias was told to read high or low somewhere in 10 to 21 of 100 trials.
//
// median ± k·(median to the 15.9 or 84.1 % quantile), k the 97.5 % quantile over the draws of the
// largest such distance over all knowns. A shape is looked for where the line misses readings, and of a
// straight method's trials one in twenty has readings that the line misses and the bent shape follows:
// of a bent shape, by itself, the known's own interval has to show the side, too. Where the draws pile up at nothing, below which no
// mean of a chart or of drops lies, nothing is the lower limit: that all draws lie above it shows no side.
func (st *study) biasBands() [][2]float64 {
	bands := make([][2]float64, len(st.levels))
	floored := make([]bool, len(st.levels))
	far := make([]float64, st.know.Lead)
	units := make([][3]float64, len(st.levels))
	for i, l := range st.levels {
		floor := math.Inf(-1)
		if st.fromNothing() {
			floor = -l.value
		}
		draws := make([]float64, st.know.Lead)
		for d := range draws {
			draws[d] = math.Max(floor, st.resp.Found(d, l.value)-l.value)
		}
		low, _ := limits(draws, 0.025, floor, math.Inf(1))
		floored[i] = low <= floor
		sorted := slices.Sorted(slices.Values(draws))
		middle := num.Quantile(sorted, 0.5)
		units[i] = [3]float64{middle - num.Quantile(sorted, num.Phi(-1)), middle, num.Quantile(sorted, num.Phi(1)) - middle}
		for d, v := range draws {
			if v < middle && !floored[i] && units[i][0] > 0 {
				far[d] = math.Max(far[d], (middle-v)/units[i][0])
			} else if v > middle && units[i][2] > 0 {
				far[d] = math.Max(far[d], (v-middle)/units[i][2])
			}
		}
	}
	k := quantile(far, 0.975)
	for i, l := range st.levels {
		bands[i] = [2]float64{units[i][1] - k*units[i][0], units[i][1] + k*units[i][2]}
		if floored[i] {
			bands[i][0] = -l.value
		}
	}
	return bands
}

// sideOf takes the limits of a bias, which hold the known's own doubt.
func sideOf(low, high, level float64) string {
	switch {
	case high < 0:
		return readsLow
	case low > 0:
		return readsHigh
	case low > -rightShare*level && high < rightShare*level:
		return readsRight
	}
	return readsOpen
}

// singleSide looks at the readings of a level themselves.
func (st *study) singleSide(i int) (string, float64) {
	l, g := st.levels[i], st.groups[st.groupAt(i)]
	low, high := g.interval[0]-l.value, g.interval[1]-l.value
	bias := middle(g.interval) - l.value
	slack := math.Max(agrees*l.u, rightShare*l.value)
	switch {
	case high < -slack:
		return readsLow, bias
	case low > slack:
		return readsHigh, bias
	case math.IsInf(low, 0) || math.IsInf(high, 0):
		return readsOpen, bias
	case low > -rightShare*l.value && high < rightShare*l.value:
		return readsRight, bias
	}
	return readsOpen, bias
}

// sayDrops tells that a count of drops times the drop reads half a drop high
// where the drops themselves, each the interval up to it, read right: where the
// bias on average over the knowns may be nothing and is less than half a drop.
func (st *study) sayDrops() {
	half := st.method.DropValue * st.dilution / 2
	if !reading.Of(st.method.Kind).Counts || st.rec == nil || half == 0 {
		return
	}
	draws := make([]float64, st.rec.Draws())
	u := 0.0
	n := 0.0
	for _, l := range st.levels {
		if l.value == 0 {
			continue
		}
		n++
		u = math.Max(u, l.u)
		for d := range draws {
			draws[d] += st.rec.At(d, l.value) - l.value
		}
	}
	for d := range draws {
		draws[d] /= math.Max(1, n)
	}
	low, high := limits(draws, 0.025, math.Inf(-1), math.Inf(1))
	if low-agrees*u <= 0 && high+agrees*u >= 0 && low > -half && high < half {
		st.note(note.New("half-a-drop").Number("half", half))
	}
}

// flatShare is the share of the slope above below which readings near the
// bottom count as not following the water.
const flatShare = 0.35

// sayDead tells up to where readings do not follow the water: from the lowest
// known to the highest one up to which the readings rise by less than a third
// of what they rise above it, on the whole and from the known before it: a dead zone that
// ends between two knowns was said to go on to the higher one. With repeats the upper 97.5 %
// limit of the rise has to stay below half of that; single readings have not to rise at all.
func (st *study) sayDead() {
	top := len(st.levels) - 1
	if st.rec == nil || top < 2 || reading.Of(st.method.Kind).Signal {
		return
	}
	for i := top - 1; i >= 1; i-- {
		c0, before, ci, ct := st.levels[0].value, st.levels[i-1].value, st.levels[i].value, st.levels[top].value
		m := st.know.Mean
		slope := (m[top] - m[i]) / (ct - ci)
		above := slope * (ci - c0)
		if !(above > 0) || m[i]-m[0] > flatShare*above || m[i]-m[i-1] > flatShare*slope*(ci-before) {
			continue
		}
		if st.post == nil && m[i] > m[0] {
			continue
		}
		if st.post != nil && quantile(rises(st.know, 0, i), 0.975) > above/2 {
			continue
		}
		st.note(note.New("dead-zone").Number("from", c0).Number("to", ci))
		return
	}
}

// rises are the draws of the rise from one level to another.
func rises(k record.Knowledge, from, to int) []float64 {
	out := make([]float64, len(k.Draw))
	for d := range out {
		out[d] = k.Draw[d][to] - k.Draw[d][from]
	}
	return out
}
