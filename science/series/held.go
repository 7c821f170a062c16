package series

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Held is how long a level was inside ranges.
type Held struct {
	Shares [][]float64 // [range]: shares of the time inside, rising, equally likely
	Doubt  float64     // the standard deviation of the level's mean over the time
	// Stays is by range the chance that a level which stays where it is lies inside; not a number where that is no way that it
	// may go, or the readings speak for another by e³ to 1.
	Stays []float64
}

// ShareOf is the share of the time inside a range with 95 % limits, by paths of two weightings of how the level goes: the middle of both
// together, and limits that hold those of either. Readings that scatter as much as the level departs hardly tell how fast it comes back:
// by GoingsOf, which lets it stay, a level that departs by 0.7 to 1 scatters and is back within a week or two was inside for less than its
// interval says in 8 to 18 of 100 rows of 26 weekly tests; by PastOf one that stays for more in 4 to 9. stays is the chance that it was
// inside if it stayed: then it was all the time, or at no time, and paths that wander hardly ever are either beside a limit.
func ShareOf(a, b []float64, stays float64) (mid, low, high float64) {
	both := slices.Sorted(slices.Values(slices.Concat(a, b)))
	low, high = math.Min(num.Quantile(a, 0.025), num.Quantile(b, 0.025)), math.Max(num.Quantile(a, 0.975), num.Quantile(b, 0.975))
	if stays < 0.975 {
		low = 0
	}
	if stays > 0.025 {
		high = 1
	}
	return num.Quantile(both, 0.5), low, high
}

// What paths take.
const (
	mostPaths, fewestPaths = 512, 64
	mostSteps              = 400_000 // of all paths together
	mostNodes              = 1500    // of a path, beside the readings' days
)

// Held follows a level between its first and last reading along paths that the readings leave
// open, all equally likely: how it goes by its weight, what readings share by its draw
// (the same draw all along a path, so that it does not average away), own scatter by what is left open of it, the mean it comes back to, then the level backwards in time (forward filter, backward sampling: C. K. Carter &
// R. Kohn 1994, Biometrika 81, 541; S. Frühwirth-Schnatter 1994, Journal of Time Series Analysis
// 15, 183). Between readings a path has a node about every day; each stands for half of the
// time to its neighbours. shared fills in the errors of all readings in a draw. Days must span more than none. Readings that are intervals count by their sites
// (Fit). Levels below 0 are 0. Deterministic; with 512 paths an end of a share's interval is
// good to a hundredth of its width or two.
func (g Goings) Held(days []float64, seen []Seen, draws int, shared func(d int, into []float64), ranges []interval.Interval) Held {
	nodes, at := nodesOf(days)
	n := min(mostPaths, max(fewestPaths, mostSteps/len(nodes)))
	p := newPaths(nodes)
	order, wide := num.Source(61, uint64(len(days))).Perm(n), num.Source(63, uint64(len(days))).Perm(n)
	rng := num.Source(62, uint64(len(days)))
	near := g.factors()
	column, moved, means := make([]float64, len(days)), make([]Site, len(days)), make([]float64, n)
	h := Held{Shares: make([][]float64, len(ranges))}
	sites := make([][]Site, len(near))
	before, drawn := -1, -1
	for k := range n {
		i := placeAt(g.Weight, (float64(k)+0.5)/float64(n))
		going := g.Of[i]
		if i != before {
			clear(sites)
			before = i
		}
		if d := order[k] * draws / n; d != drawn {
			shared(d, column)
			drawn = d
		}
		factor := g.scatters(i)[wide[k]*len(g.scatters(i))/n]
		s := near.nearest(factor)
		if sites[s] == nil {
			sites[s], _ = going.fit(days, scattered(seen, near[s]), nil)
		}
		shift(moved, sites[s], column, factor/near[s])
		mean := 0.0
		if going.Departs > 0 {
			mean = p.forwardTo(Return{nodes, going.Departs, going.Memory}, moved, at, rng.NormFloat64)
		} else {
			p.forward(moved, at, going.PerDay)
		}
		p.backward(mean, rng.NormFloat64)
		means[k] = dot(p.weight, p.level)
		for i, r := range ranges {
			h.Shares[i] = append(h.Shares[i], p.inside(r))
		}
	}
	_, h.Doubt = num.MeanSD(means)
	h.Stays = g.stays(days, seen, draws, shared, ranges)
	for _, s := range h.Shares {
		slices.Sort(s)
	}
	return h
}

// stays are the chances that a level which stays where it is lies inside ranges.
func (g Goings) stays(days []float64, seen []Seen, draws int, shared func(d int, into []float64), ranges []interval.Interval) []float64 {
	out := make([]float64, len(ranges))
	at := slices.Index(g.Of, Going{})
	if at < 0 || g.Weight[at] < slices.Max(g.Weight)*math.Exp(-3) {
		for i := range out {
			out[i] = math.NaN()
		}
		return out
	}
	scatters, all := g.scatters(at), g.scatter(at)
	spread := make([]float64, draws)
	for d, k := range num.Source(64, uint64(draws)).Perm(draws) {
		spread[d] = scatters[k*len(scatters)/draws] / all
	}
	ends := Wanders{PerDay: []float64{0}, Weight: []float64{1}}.Ends(days, scattered(seen, all), spread, shared)
	for i, r := range ranges {
		_, out[i], _ = ends.Chances(r, 0)
	}
	return out
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

// paths are made again and again over the same nodes. Levels are kept as departures from a mean, which is 0 for
// walks; from one node to the next keep of it is left, and variance comes to it.
type paths struct {
	nodes, weight, level []float64
	keep, variance       []float64
	ahead                []Belief
	joint                []joint
}

func newPaths(nodes []float64) *paths {
	n := len(nodes)
	p := &paths{nodes: nodes, weight: make([]float64, n), level: make([]float64, n), keep: make([]float64, n), variance: make([]float64, n), ahead: make([]Belief, n), joint: make([]joint, n)}
	all := nodes[n-1] - nodes[0]
	for i := 1; i < n; i++ {
		half := (nodes[i] - nodes[i-1]) / 2 / all
		p.weight[i-1] += half
		p.weight[i] += half
	}
	return p
}

// forward is what is known of each node of a walk by the readings up to it.
func (p *paths) forward(sites []Site, at []int, perDay float64) {
	k := 0
	for i := range p.nodes {
		b := Belief{}
		if i > 0 {
			p.keep[i-1], p.variance[i-1] = 1, perDay*(p.nodes[i]-p.nodes[i-1])
			b = p.ahead[i-1].after(p.variance[i-1])
		}
		for ; k < len(at) && at[k] == i; k++ {
			b = b.with(sites[k])
		}
		p.ahead[i] = b
	}
}

// forwardTo is what is known of each node's departure from a mean, which is drawn from what all readings leave open
// of it, by the readings up to it.
func (p *paths) forwardTo(r Return, sites []Site, at []int, normal func() float64) (mean float64) {
	k := 0
	for i := range p.nodes {
		j := r.first()
		if i > 0 {
			p.keep[i-1], p.variance[i-1] = r.step(p.nodes[i] - p.nodes[i-1])
			j, _ = p.joint[i-1].after(p.keep[i-1], p.variance[i-1])
		}
		for ; k < len(at) && at[k] == i; k++ {
			j = j.with(sites[k])
		}
		p.joint[i] = j
	}
	b := p.joint[len(p.nodes)-1].mean()
	mean = b.Mean() + math.Sqrt(b.Var())*normal()
	for i, j := range p.joint {
		p.ahead[i] = Belief{j.xx, j.sx - j.xm*mean}
	}
	return mean
}

// backward draws a level for each node, from the last one.
func (p *paths) backward(mean float64, normal func() float64) {
	departed := 0.0
	for i := len(p.nodes) - 1; i >= 0; i-- {
		b := p.ahead[i]
		if i < len(p.nodes)-1 {
			keep, v := p.keep[i], p.variance[i]
			if v == 0 {
				p.level[i] = p.level[i+1]
				continue
			}
			b = b.with(Site{keep * keep / v, keep * departed / v})
		}
		departed = b.Mean() + math.Sqrt(b.Var())*normal()
		p.level[i] = mean + departed
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
