package assess

import (
	"math"

	"knownwater/science/num"
	"knownwater/science/posterior"
)

// between says where a concentration lies between the levels: the groups on
// either side and how far towards the second, as spreads go and straight.
type between struct {
	a, b        int
	t, straight float64
	above       float64 // how far the mean reading lies above that of nothing
}

// along finds the place of c; beyond the ends the spread of the end stands. In
// between, the logarithm of the spread goes straight over log(c + a quarter of
// the middle level), which spreads low levels apart.
func (st *study) along(c float64) between {
	n := len(st.levels)
	i := 0
	for i < n && st.levels[i].value <= c {
		i++
	}
	switch i {
	case 0:
		return st.atGroup(st.groupAt(0))
	case n:
		return st.atGroup(st.groupAt(n - 1))
	}
	soft := 0.25 * st.levels[(n+1)/2].value
	if soft == 0 {
		soft = 0.25 * st.top()
	}
	low, high := num.Log(st.levels[i-1].value+soft), num.Log(st.levels[i].value+soft)
	at := between{a: st.groupAt(i - 1), b: st.groupAt(i), t: (num.Log(c+soft) - low) / (high - low), straight: (c - st.levels[i-1].value) / (st.levels[i].value - st.levels[i-1].value)}
	if st.above != nil {
		at.above = st.above[i-1] + at.straight*(st.above[i]-st.above[i-1])
	}
	return at
}

// of says whether something is so of one of the groups that the spread there is told by.
func (at between) of(is func(g int) bool) bool { return is(at.a) || at.t > 0 && is(at.b) }

// atGroup is the place of a group.
func (st *study) atGroup(g int) between {
	at := between{a: g, b: g}
	if st.above != nil {
		at.above = st.above[st.groups[g].level]
	}
	return at
}

// aboveNothing is how far each level's mean reading lies above that of nothing, which is the lowest known's where that is
// as good as a blank.
func (st *study) aboveNothing() []float64 {
	nothing := 0.0
	if len(st.levels) > 1 && st.likeBlank() {
		nothing = st.bestMean(st.groupAt(0))
	}
	above := make([]float64, len(st.levels))
	for i := range above {
		above[i] = math.Max(0, st.bestMean(st.groupAt(i))-nothing)
	}
	return above
}

// repeatability is draw k's standard deviation there, less all that is shared.
func (at between) repeatability(d *posterior.Draws, k int) float64 {
	return num.Exp(d.LogSD[at.a][k] + at.t*(d.LogSD[at.b][k]-d.LogSD[at.a][k]))
}

// total is draw k's standard deviation of a single reading at c, every source
// together, with the reference technique.
func (st *study) total(d *posterior.Draws, k int, at between) float64 {
	return at.repeatability(d, k) * at.whole(d, k)
}

// totalOfAny is the same with a lot that was not tried as lotSpread has it, and a reader as anyReader has, which upper limits, "fit" and
// later readings are told by; lower limits and "not fit" hold whatever lots and readers may add, and are told by total.
func (st *study) totalOfAny(d *posterior.Draws, k int, at between) float64 {
	s := at.repeatability(d, k)
	return math.Sqrt(s*s*st.ofAnybody(d, k, at, st.anyReader(d)) + st.ofAnyLot(k, at))
}

// totalsOfAny are the wide draws of it, with several readers of each.
func (st *study) totalsOfAny(at between) (all []float64) {
	d := st.post.Wide
	n := d.Len()
	all = make([]float64, 0, n*severalReaders)
	for k := range n {
		s, by, lot := at.repeatability(d, k), st.beside(d, k, at), st.ofAnyLot(k, at)
		if st.newReaders.wide == nil {
			all = append(all, math.Sqrt(s*s*by.square+lot))
			continue
		}
		for one := k; one < len(st.newReaders.wide.tau); one += n {
			all = append(all, math.Sqrt(s*s*by.with(st.newReaders.wide.tau[one])+lot))
		}
	}
	return all
}

// anybody is the variance of a single reading less what a lot adds that was not tried, in units of repeatability: square as the draw
// has it, of which τ² = had of its readers, times over.
type anybody struct{ square, over, had float64 }

// with is that by a reader of such a τ².
func (a anybody) with(tau float64) float64 { return a.square + a.over*(tau-a.had) }

// beside is it in draw k, of no reader more than the draw has where these cannot be told.
func (st *study) beside(d *posterior.Draws, k int, at between) (a anybody) {
	a.square = at.whole(d, k)
	a.square *= a.square
	if st.lots != nil {
		a.square = st.withoutLots(d, k, at)
	}
	if f, told := st.factor["reader"]; told {
		over := at.over(d, f, k)
		a.over, a.had = over*over, d.Ratio[f][k]*d.Ratio[f][k]
	}
	return a
}

// ofAnybody is that by a reader who was not tried.
func (st *study) ofAnybody(d *posterior.Draws, k int, at between, by *anyReader) float64 {
	a := st.beside(d, k, at)
	if by == nil {
		return a.square
	}
	return a.with(by.tau[k])
}

// ofAnyLot is what a lot adds to the variance of a reading that was not tried; 0 where the posterior alone tells it.
func (st *study) ofAnyLot(k int, at between) float64 {
	if st.lots == nil {
		return 0
	}
	return st.lots.at(k, at.above)
}

// foretold is that of a later reading of a lot and by a reader who were not tried, the doubt of where the mean of all
// lots and readers lies with it, in draw k of those that favour a form.
func (st *study) foretold(k int, at between) float64 {
	d, by, s := st.post.Form, st.newReaders.later, at.repeatability(st.post.Form, k)
	return math.Sqrt(s*s*st.ofAnybody(d, k, at, by) + st.ofAnyLot(k, at) + st.averageOff(d, k, at, by))
}

// averageOff is the variance of the average of those tried about the mean of all lots and readers, beyond what the draws of the means have.
func (st *study) averageOff(d *posterior.Draws, k int, at between, by *anyReader) float64 {
	off := st.lotsAverage(d, k, at)
	if by != nil {
		s := at.repeatability(d, k) * at.over(d, st.factor["reader"], k)
		off += s * s * by.average[k]
	}
	return off
}

// withoutLots is the variance of a single reading in draw k, of a given lot, in units of repeatability.
func (st *study) withoutLots(d *posterior.Draws, k int, at between) float64 {
	whole, lot := at.whole(d, k), at.part(d, st.factor["lot"], k)
	return whole*whole - lot*lot
}

// lotsAverage is the variance of the lots' average about the mean of all lots, beyond what the draws of the
// means have of it in their units of scatter.
func (st *study) lotsAverage(d *posterior.Draws, k int, at between) float64 {
	if st.lots == nil {
		return 0
	}
	lot := at.repeatability(d, k) * at.part(d, st.factor["lot"], k)
	return math.Max(0, st.lots.at(k, at.above)-lot*lot) / st.lots.lots
}

// same is what is left of it between two tests by one reader in one session and lot.
func (st *study) same(d *posterior.Draws, k int, at between) float64 {
	nested := posterior.None
	if f, ok := st.factor["vial"]; ok {
		nested = f
	}
	return at.repeatability(d, k) * at.within(d, k, nested)
}

// middleLevel is the level at which the parts of the spread are stated: the
// middle one of those above 0.
func (st *study) middleLevel() int {
	first := 0
	for first < len(st.levels)-1 && st.levels[first].value <= 0 {
		first++
	}
	return first + (len(st.levels)-first)/2
}

// normals are n standard normal values in an order of their own that never
// changes: each of n equal chances once.
func normals(n int, task uint64) []float64 { return posterior.Normals(n, task) }
