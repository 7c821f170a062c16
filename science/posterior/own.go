package posterior

import (
	"math"
	"slices"
	"sort"
)

// Own are limits that one group's readings give alone.
type Own struct{ MeanLow, MeanHigh, SDLow, SDHigh float64 }

// noOwn are those of a group that says nothing by itself.
var noOwn = Own{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}

// ownTail is what they leave outside on each side.
const ownTail = 0.04

// own are the limits that one group's readings give alone under normal scatter, every
// spread on the grid equally likely beforehand; of several sharings each counts by what all
// readings say of it. Readings that all fell in one closed interval bound their spread from
// above and nothing else.
func (l *layout) own(g int, fits []*levels, weight []float64) Own {
	gr := &l.group[g]
	one := l.distinct(g) < 2
	if gr.n < 3 || one && !(gr.width > 0 && l.closed(g)) {
		return noOwn
	}
	var all []ownSpread
	most, total := slices.Max(weight), 0.0
	for i, w := range weight {
		if most == 0 { // slips are sure, and normal scatter is none of what is left
			w = 1
		}
		if w > leastOwn*most {
			total += w
			all = append(all, newOwnSpread(fits[i].table[g], w, total))
		}
	}
	o := noOwn
	if o.SDHigh = math.Exp(quantileOf(all, 1-ownTail)); one {
		return o
	}
	o.SDLow = math.Exp(quantileOf(all, ownTail))
	const n = 400
	draws, points := make([]float64, n), newLattice(n, 3)
	for k := range draws {
		want := points.at(k, 2) * total
		a := all[sort.Search(len(all)-1, func(i int) bool { return all[i].upTo >= want })]
		t := a.of
		u := t.u0 + stepped(a.cum, points.at(k, 0))*t.gap
		draws[k] = t.draw(math.Min(math.Max(u, t.u0), t.u(len(t.logL)-1)), points.at(k, 1))
	}
	o.MeanLow, o.MeanHigh = tails(draws, ownTail)
	if _, within := tails(draws, 2*ownTail); o.MeanLow-l.MeanFloor < o.MeanHigh-within { // they pile up at the bound, which may be the mean
		o.MeanLow = l.MeanFloor
	}
	return o
}

// leastOwn is the weight, of the weightiest's, below which a sharing is not looked at.
const leastOwn = 1e-3

// closed says whether all readings of a group are, at both ends.
func (l *layout) closed(g int) bool {
	for _, i := range l.group[g].cells {
		if s := l.Cells[i].Seen[0]; math.IsInf(s[1]-s[0], 1) {
			return false
		}
	}
	return true
}

// ownSpread is what one group says of its log spread under one sharing.
type ownSpread struct {
	of           *level
	cum          []float64
	weight, upTo float64 // of the sharing, and of all up to it
}

func newOwnSpread(t *level, weight, upTo float64) ownSpread {
	mass := make([]float64, len(t.logL))
	for j, v := range t.logL {
		mass[j] = math.Exp(v - t.top)
	}
	return ownSpread{t, cumulated(mass), weight, upTo}
}

// below is the share of it below u.
func (a ownSpread) below(u float64) float64 {
	x := (u-a.of.u0)/a.of.gap + 0.5
	n := len(a.cum)
	switch {
	case !(x > 0):
		return 0
	case !(x < float64(n)):
		return 1
	}
	i := int(x)
	before := 0.0
	if i > 0 {
		before = a.cum[i-1]
	}
	return (before + (x-float64(i))*(a.cum[i]-before)) / a.cum[n-1]
}

// quantileOf is that of their mixture.
func quantileOf(all []ownSpread, p float64) float64 {
	lo, hi, total := math.Inf(1), math.Inf(-1), 0.0
	for _, a := range all {
		lo, hi, total = math.Min(lo, a.of.u0-a.of.gap), math.Max(hi, a.of.u(len(a.cum))), total+a.weight
	}
	for range 50 {
		mid, sum := (lo+hi)/2, 0.0
		for _, a := range all {
			sum += a.weight * a.below(mid)
		}
		if sum < p*total {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
