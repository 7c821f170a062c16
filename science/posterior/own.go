package posterior

import (
	"math"
	"slices"
)

// Own are limits that one group's readings give alone.
type Own struct{ MeanLow, MeanHigh, SDLow, SDHigh float64 }

// noOwn are those of a group that says nothing by itself.
var noOwn = Own{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}

// ownTail is what they leave outside on each side.
const ownTail = 0.04

// own are the limits that one group's readings give alone under normal scatter, whoever read them, every
// spread on the grid equally likely beforehand; of several sharings, whose tables these are, each counts by what all
// readings say of it. Readings that all fell in one closed interval bound their spread from
// above and nothing else: of a display every s is equally likely then, as every log s would put the whole weight on
// scatters that are next to nothing (of five readings at a hump the upper limit missed in 8 of 100 trials). Of readings of
// which fewer than two are closed they are no limits: the chance of such readings falls as s^−c, c those that are closed,
// and with means as likely over s it has to fall faster than 1/s (drops read 1, 0 and 0 at the blank had a mean of up to 11, of 0.5 a drop,
// beside knowns that scatter by less than one).
func (l *layout) own(g int, tables []*level, weight []float64) Own {
	gr := &l.group[g]
	one := l.distinct(g) < 2
	if gr.n < 3 || l.closed(g) < 2 || one && !(gr.width > 0) {
		return noOwn
	}
	o, all := noOwn, ownSpreads(tables, weight, one && !l.Coarse)
	if o.SDHigh = math.Exp(all.quantile(1 - ownTail)); one {
		return o
	}
	o.SDLow = math.Exp(all.quantile(ownTail))
	o.MeanLow, o.MeanHigh = all.mean(ownTail), all.mean(1-ownTail)
	if o.MeanLow-l.MeanFloor < o.MeanHigh-all.mean(1-2*ownTail) { // they pile up at the bound, which may be the mean
		o.MeanLow = l.MeanFloor
	}
	return o
}

// ownTables are a group's by itself, by sharing; none where its weight is next to nothing.
func (l *layout) ownTables(g int, weight []float64) []*level {
	tables := make([]*level, len(weight))
	for i := range tables {
		if tellsOwn(weight, i) {
			tables[i] = newLevel(l, g, Normal, i)
		}
	}
	return tables
}

// leastOwn is the weight, of the weightiest's, below which a sharing is not looked at.
const leastOwn = 1e-3

// tellsOwn says whether it is; all are where slips are sure, and normal scatter is none of what is left.
func tellsOwn(weight []float64, i int) bool {
	most := slices.Max(weight)
	return most == 0 || weight[i] > leastOwn*most
}

// closed is how many readings of a group are, at both ends.
func (l *layout) closed(g int) (n float64) {
	for _, i := range l.group[g].cells {
		if s := l.Cells[i].Seen[0]; !math.IsInf(s[1]-s[0], 1) {
			n += l.Cells[i].Count
		}
	}
	return n
}

// ownSpread is what one group says of its log spread under one sharing.
type ownSpread struct {
	of     *level
	cum    []float64
	weight float64 // of the sharing
}

// mixed are those of several sharings.
type mixed []ownSpread

// ownSpreads are those of tables by sharing, by their weights: every log s equally likely beforehand, or every s.
func ownSpreads(tables []*level, weight []float64, every bool) (all mixed) {
	for i, w := range weight {
		if !tellsOwn(weight, i) {
			continue
		}
		if w == 0 {
			w = 1
		}
		t := tables[i]
		mass := make([]float64, len(t.logL))
		for j, v := range t.logL {
			mass[j] = math.Exp(v - t.top)
			if every {
				mass[j] *= math.Exp(t.u(j) - t.u0)
			}
		}
		all = append(all, ownSpread{t, cumulated(mass), w})
	}
	return all
}

// mean is the quantile p of the group's mean, by all spreads but those of next to no chance.
func (all mixed) mean(p float64) float64 {
	type part struct {
		of      *level
		u, mass float64
	}
	var parts []part
	lo, hi, total := math.Inf(1), math.Inf(-1), 0.0
	for _, a := range all {
		before := 0.0
		for j, cum := range a.cum {
			if mass := (cum - before) / a.cum[len(a.cum)-1]; mass > leastMass {
				u := a.of.u(j)
				parts, total = append(parts, part{a.of, u, a.weight * mass}), total+a.weight*mass
				lo, hi = math.Min(lo, a.of.draw(u, 0)), math.Max(hi, a.of.draw(u, 1))
			}
			before = cum
		}
	}
	for range 40 {
		mid, sum := (lo+hi)/2, 0.0
		for _, x := range parts {
			sum += x.mass * x.of.meanBelow(x.u, mid)
		}
		if sum < p*total {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// leastMass is the chance of a spread up to which it is left out.
const leastMass = 1e-4

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

// quantile is that of their mixture.
func (all mixed) quantile(p float64) float64 {
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
