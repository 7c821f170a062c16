package series

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Held is how long a level was inside ranges, and where it may go from there.
type Held struct {
	Shares [][]float64 // [range]: shares of the time inside, rising, equally likely
	Ends
}

// Ends are normal beliefs of the level on the last day, equally likely, each with how much
// the level wanders in a day.
type Ends []struct{ Mean, Var, PerDay float64 }

// What paths take.
const (
	mostPaths, fewestPaths = 512, 64
	mostSteps              = 400_000 // of all paths together
	mostNodes              = 1500    // of a path, beside the readings' days
)

// Held follows a level between its first and last reading along paths that the readings leave
// open, all equally likely: how much it wanders by its weight, what readings share by its draw
// (the same draw all along a path, so that it does not average away), own scatter by the draw's
// spread, then the level backwards in time (forward filter, backward sampling: C. K. Carter &
// R. Kohn 1994, Biometrika 81, 541; S. Frühwirth-Schnatter 1994, Journal of Time Series Analysis
// 15, 183). Between readings a path has a node about every day; each stands for half of the
// time to its neighbours. shared fills in the errors of all readings in a draw; spread has one factor
// for each draw. Days must span more than none. Readings that are intervals count by their sites
// (Fit). Levels below 0 are 0. Deterministic; with 512 paths an end of a share's interval is
// good to a hundredth of its width or two.
func (w Wanders) Held(days []float64, seen []Seen, spread []float64, shared func(d int, into []float64), ranges []interval.Interval) Held {
	nodes, at := nodesOf(days)
	n := min(mostPaths, max(fewestPaths, mostSteps/len(nodes)))
	p := newPaths(nodes)
	order := num.Source(61, uint64(len(days))).Perm(n)
	rng := num.Source(62, uint64(len(days)))
	column, moved := make([]float64, len(days)), make([]Site, len(days))
	h := Held{Shares: make([][]float64, len(ranges))}
	var sites []Site
	before, drawn := math.NaN(), -1
	for k := range n {
		q := w.at((float64(k) + 0.5) / float64(n))
		if q != before {
			sites, _ = Walk{days, q}.Fit(seen, sites)
			before = q
		}
		if d := order[k] * len(spread) / n; d != drawn {
			shared(d, column)
			drawn = d
		}
		scale := 1 / (spread[drawn] * spread[drawn])
		for i, s := range sites {
			moved[i] = Site{s.Precision * scale, (s.Shift - s.Precision*column[i]) * scale}
		}
		p.forward(moved, at, q)
		last := p.ahead[len(nodes)-1]
		h.Ends = append(h.Ends, struct{ Mean, Var, PerDay float64 }{last.Mean(), last.Var(), q})
		p.backward(q, rng.NormFloat64)
		for i, r := range ranges {
			h.Shares[i] = append(h.Shares[i], p.inside(r))
		}
	}
	for _, s := range h.Shares {
		slices.Sort(s)
	}
	return h
}

// at is the walk at a share of all weights.
func (w Wanders) at(share float64) float64 {
	sum := 0.0
	for k, v := range w.Weight {
		if sum += v; sum >= share {
			return w.PerDay[k]
		}
	}
	return w.PerDay[len(w.PerDay)-1]
}

// Chances are those of a level some days after the last reading: below a range, inside it and above.
func (e Ends) Chances(r interval.Interval, ahead float64) (below, inside, above float64) {
	var m Mixture
	for _, b := range e {
		m.Add(1, b.Mean, math.Sqrt(b.Var+b.PerDay*ahead))
	}
	if r.Low > 0 {
		below = m.Below(r.Low)
	}
	above = 1 - m.Below(r.High)
	return below, math.Max(0, 1-below-above), above
}

// nodesOf are the days of readings and days between them; at says where each reading is.
func nodesOf(days []float64) (nodes []float64, at []int) {
	step := math.Max(1, (days[len(days)-1]-days[0])/mostNodes)
	for i, d := range days {
		if i > 0 {
			gap := d - days[i-1]
			if gap == 0 {
				at = append(at, len(nodes)-1)
				continue
			}
			parts := math.Ceil(gap/step - 1e-9)
			for k := 1.0; k < parts; k++ {
				nodes = append(nodes, days[i-1]+gap*k/parts)
			}
		}
		at = append(at, len(nodes))
		nodes = append(nodes, d)
	}
	return nodes, at
}

// paths are made again and again over the same nodes.
type paths struct {
	nodes, weight, level []float64
	ahead                []Belief
}

func newPaths(nodes []float64) *paths {
	n := len(nodes)
	p := &paths{nodes: nodes, weight: make([]float64, n), level: make([]float64, n), ahead: make([]Belief, n)}
	all := nodes[n-1] - nodes[0]
	for i := 1; i < n; i++ {
		half := (nodes[i] - nodes[i-1]) / 2 / all
		p.weight[i-1] += half
		p.weight[i] += half
	}
	return p
}

// forward is what is known of each node by the readings up to it.
func (p *paths) forward(sites []Site, at []int, perDay float64) {
	k := 0
	for i := range p.nodes {
		b := Belief{}
		if i > 0 {
			b = p.ahead[i-1].after(perDay * (p.nodes[i] - p.nodes[i-1]))
		}
		for ; k < len(at) && at[k] == i; k++ {
			b = b.with(sites[k])
		}
		p.ahead[i] = b
	}
}

// backward draws a level for each node, from the last one.
func (p *paths) backward(perDay float64, normal func() float64) {
	for i := len(p.nodes) - 1; i >= 0; i-- {
		b := p.ahead[i]
		if i < len(p.nodes)-1 {
			v := perDay * (p.nodes[i+1] - p.nodes[i])
			if v == 0 {
				p.level[i] = p.level[i+1]
				continue
			}
			b = b.with(Site{1 / v, p.level[i+1] / v})
		}
		p.level[i] = b.Mean() + math.Sqrt(b.Var())*normal()
	}
}

func (p *paths) inside(r interval.Interval) float64 {
	var in, all num.Sum
	for i, x := range p.level {
		x = math.Max(0, x)
		all.Add(p.weight[i])
		if r.Low <= x && x <= r.High {
			in.Add(p.weight[i])
		}
	}
	return in.Value() / all.Value()
}
