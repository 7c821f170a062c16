package history

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
)

// regimes are the levels of neighbouring spans of one group, which may hold changes: none, one or two,
// equally likely. A change is a step between two spans, a step within one, which then
// stands half way (or, of a single change, at a fifth or four fifths of it), or, of a single one, goes straight on
// over several spans. Every place is as likely, every size between minus and plus the range of the levels.
//
// What is left once the level and the changes are taken off says how far the water wanders: the levels'
// covariance is own + shared + w·√(kept·kept)·exp(−days/Memory), and w has the restricted likelihood
// (H. D. Patterson & R. Thompson 1971, Biometrika 58, 545), averaged over the changes.
type regimes struct {
	fixed, wanders [][]float64 // covariances, the second for w = 1
	columns        [][]float64 // of the level, what was found, and changes
	steps          int         // columns of changes that may be two
	perSize        float64     // logarithm of the weight of a change's size
}

// mostInWindow spans are taken together: about a year, in which one or two changes are what there is.
const mostInWindow = 10

// windows are spans of each group, in order of time, in windows of nearly equal numbers.
func windows(told []*span) (out []regimes) {
	groups := map[int][]*span{}
	for _, s := range told {
		groups[s.group] = append(groups[s.group], s)
	}
	for _, list := range sorted(groups) {
		slices.SortStableFunc(list, func(a, b *span) int { return cmp.Compare(a.day, b.day) })
		parts := (len(list) + mostInWindow - 1) / mostInWindow
		for k := range parts {
			if part := list[k*len(list)/parts : (k+1)*len(list)/parts]; len(part) > 2 {
				out = append(out, regimesOf(part))
			}
		}
	}
	return out
}

func regimesOf(list []*span) (r regimes) {
	n := len(list)
	r.fixed, r.wanders = make([][]float64, n), make([][]float64, n)
	one, level := make([]float64, n), make([]float64, n)
	for i, a := range list {
		r.fixed[i], r.wanders[i] = make([]float64, n), make([]float64, n)
		for j, b := range list {
			for d := range draws {
				r.fixed[i][j] += a.errors[d] * b.errors[d] / draws
			}
			r.wanders[i][j] = math.Sqrt(a.kept*b.kept) * remembered(a.day-b.day)
		}
		for _, f := range a.steady.spread {
			r.fixed[i][i] += a.steady.variance * f * f / draws
		}
		one[i], level[i] = 1, a.steady.level
	}
	r.perSize = 0.5*math.Log(2*math.Pi) - math.Log(2*(slices.Max(level)-slices.Min(level)))
	r.columns = [][]float64{one, level}
	for j := range n - 1 {
		r.add(list, j, j+1)
	}
	for j := 1; j < n-1; j++ {
		r.through(n, j, 0.5)
	}
	r.steps = len(r.columns)
	for j := 1; j < n-1; j++ {
		r.through(n, j, 0.2)
		r.through(n, j, 0.8)
	}
	for i := range n {
		for j := i + 2; j < n; j++ {
			r.add(list, i, j)
		}
	}
	return r
}

// add takes a change from one span to another among those that are possible: from 0 to 1, in
// proportion to time.
func (r *regimes) add(list []*span, from, to int) {
	c := make([]float64, len(list))
	began, gap := list[from].day, list[to].day-list[from].day
	for k, s := range list {
		switch {
		case k >= to:
			c[k] = 1
		case k > from && gap > 0:
			c[k] = (s.day - began) / gap
		}
	}
	r.columns = append(r.columns, c)
}

// through is a change within a span, a share of which is seen there.
func (r *regimes) through(n, at int, share float64) {
	c := make([]float64, n)
	c[at] = share
	for k := at + 1; k < n; k++ {
		c[k] = 1
	}
	r.columns = append(r.columns, c)
}

// logLikelihood of a wandering of variance w.
func (r regimes) logLikelihood(w float64) float64 {
	v := make([][]float64, len(r.fixed))
	for i := range v {
		v[i] = slices.Clone(r.fixed[i])
		for j := range v[i] {
			v[i][j] += w * r.wanders[i][j]
		}
	}
	u, logDet, err := num.Whitened(v, r.columns)
	if err != nil || math.IsInf(r.perSize, 0) { // all levels the same: nothing wanders that shows
		return 0
	}
	norm := num.Dot(u[0], u[0])
	square, along := make([]float64, len(u)), make([]float64, len(u))
	for j := 1; j < len(u); j++ {
		k := num.Dot(u[0], u[j]) / norm
		for i := range u[j] {
			u[j][i] -= k * u[0][i]
		}
		square[j], along[j] = num.Dot(u[j], u[j]), num.Dot(u[j], u[1])
	}
	rest := square[1]
	none := []float64{-rest / 2}
	var one, two []float64
	for j := 2; j < len(u); j++ {
		one = append(one, r.perSize-0.5*math.Log(square[j])-0.5*(rest-along[j]*along[j]/square[j]))
	}
	for i := 2; i < r.steps && len(v) > 4; i++ {
		for j := 2; j < i; j++ {
			x := num.Dot(u[i], u[j])
			det := square[i]*square[j] - x*x
			if det < 1e-3*square[i]*square[j] { // as good as one change
				continue
			}
			told := (along[i]*along[i]*square[j] - 2*along[i]*along[j]*x + along[j]*along[j]*square[i]) / det
			two = append(two, 2*r.perSize-0.5*math.Log(det)-0.5*(rest-told))
		}
	}
	top := math.Max(none[0], slices.Max(one))
	if two != nil {
		top = math.Max(top, slices.Max(two))
	}
	sum := 0.0
	for _, kind := range [][]float64{none, one, two} {
		for _, l := range kind {
			sum += math.Exp(l-top) / float64(len(kind))
		}
	}
	return top + math.Log(sum) - 0.5*(logDet+math.Log(norm))
}
