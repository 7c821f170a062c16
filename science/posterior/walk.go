package posterior

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
)

// place is where the chain stood in the discrete parameters.
type place struct {
	kind         Kind
	share        int
	shape, omega int
}

// walk is a chain and what it recorded, sweep by sweep.
type walk struct {
	c                          *chain
	mean, logSD, ratio, effect [][]float64 // [quantity][record]
	whole                      []float64   // log of the whole spread ÷ repeatability
	at                         []place
	ways                       [][]uint8 // by factor and record, of those that go along with something else than the spread
	weight                     [priors][]float64
	marginals                  *marginals
	again                      *walk // records what is drawn once more of every sweep: see chain.drawGiven
}

func newWalk(c *chain) *walk {
	w := newRecord(c)
	w.marginals, w.again = newMarginals(c), newRecord(c)
	return w
}

func newRecord(c *chain) *walk {
	return &walk{c: c, mean: make([][]float64, c.l.Groups), logSD: make([][]float64, c.l.Groups),
		ratio: make([][]float64, len(c.tau)), effect: make([][]float64, c.columns), ways: make([][]uint8, len(c.tau))}
}

func (w *walk) len() int { return len(w.at) }

// givens is how often a sweep draws what is cheap, and keeps it; ownEvery every how many sweeps the
// marginals of groups by themselves are added to; lookEvery the same of the others where few draws are
// asked for, which are drawn once a sweep.
const (
	givens    = 3
	ownEvery  = 4
	lookEvery = 2
)

// burn walks without recording, and tunes the steps; what the places of the second
// half count under each prior is summed up.
func (w *walk) burn(sweeps int) (of [priors]float64) {
	w.c.adapting = true
	for k := range sweeps {
		w.c.sweep()
		if 2*k >= sweeps {
			for p, x := range w.c.weights() {
				of[p] += x
			}
		}
	}
	w.c.adapting = false
	return of
}

// on walks on and records every sweep, as often as what is cheap is drawn; where few draws are asked for once.
func (w *walk) on(sweeps int) {
	c := w.c
	for range sweeps {
		c.telling = true
		c.sweep()
		c.telling = false
		weight := w.record()
		w.marginals.lookAtMeans(c)
		if !c.l.Few || (len(w.at)-1)%lookEvery == 0 {
			w.marginals.look(c, weight, true)
		}
		if (len(w.at)-1)%ownEvery == 0 {
			w.marginals.lookAtOwn(c, weight)
		}
		for range givens - 1 {
			if c.l.Few {
				break
			}
			c.drawGiven()
			w.marginals.look(c, w.again.record(), false)
		}
		w.marginals.close()
	}
}

// record keeps where the chain stands, and what that counts under each prior.
func (w *walk) record() (weight [priors]float64) {
	c := w.c
	keep := func(rows [][]float64, now []float64) {
		for i, v := range now {
			rows[i] = append(rows[i], v)
		}
	}
	keep(w.mean, c.m)
	keep(w.logSD, c.u)
	keep(w.ratio, c.tau)
	keep(w.effect, c.a)
	square := 1.0
	for _, t := range c.tau {
		square += t * t
	}
	w.whole = append(w.whole, 0.5*num.Log(square))
	w.at = append(w.at, c.at)
	if c.anyFlat {
		for f, way := range c.way {
			w.ways[f] = append(w.ways[f], uint8(way))
		}
	}
	weight = c.weights()
	for p, x := range weight {
		w.weight[p] = append(w.weight[p], x)
	}
	return weight
}

// state is one recorded sweep of a walk, with what it is put in order by.
type state struct {
	of            *walk
	at            int
	spread, shift float64
}

// inOrder lists what the walks recorded by its spread, averaged over the groups, in so many
// parts, and in each by how high its means lie, up and down in turn: of a list in that order
// every second or every eighth draw has about the limits that all have.
func inOrder(l *layout, walks []*walk) []state {
	var all []state
	for _, w := range walks {
		walks = append(walks, w.again)
	}
	for _, w := range walks {
		for i := range w.at {
			s := state{of: w, at: i, spread: w.whole[i]}
			for g := range l.group {
				s.spread += w.logSD[g][i] / float64(l.Groups)
				s.shift += (w.mean[g][i] - l.group[g].mean) * num.Exp(-l.group[g].guess)
			}
			all = append(all, s)
		}
	}
	slices.SortStableFunc(all, func(a, b state) int { return cmp.Compare(a.spread, b.spread) })
	const parts = 40
	for p := range parts {
		part := all[p*len(all)/parts : (p+1)*len(all)/parts]
		slices.SortStableFunc(part, func(a, b state) int {
			if p%2 == 0 {
				return cmp.Compare(a.shift, b.shift)
			}
			return cmp.Compare(b.shift, a.shift)
		})
	}
	return all
}

// pick takes n draws in proportion to their weights under a prior, evenly along
// their order.
func pick(l *layout, states []state, p Prior, n int) *Draws {
	d := newDraws(l, n)
	total := 0.0
	for _, s := range states {
		total += s.of.weight[p][s.at]
	}
	sum, k := 0.0, 0
	for _, s := range states {
		for sum += s.of.weight[p][s.at]; k < n && (float64(k)+0.5)/float64(n)*total < sum; k++ {
			d.take(l, s.of, s.at, k)
		}
	}
	for last := states[len(states)-1]; k < n; k++ { // rounding at the end
		d.take(l, last.of, last.at, k)
	}
	return d
}

func (d *Draws) take(l *layout, w *walk, i, k int) {
	for g := range d.Mean {
		d.Mean[g][k], d.LogSD[g][k] = w.mean[g][i], w.logSD[g][i]
	}
	d.Share[k] = w.at[i].share
	column := 0
	for f, fac := range l.Factors {
		d.Ratio[f][k] = w.ratio[f][i]
		if fac.Along != nil {
			d.Way[f][k] = w.ways[f][i]
		}
		for j := range d.Effect[f] {
			d.Effect[f][j][k] = w.effect[column+j][i]
		}
		if !fac.inside() {
			column += fac.Members
		}
	}
}

// errorShare estimates the largest Monte Carlo error of a limit that leaves 2.5 % outside, of any
// group's mean and whole spread and of any shared part, under either prior, as a share
// of its interval: see share.
func errorShare(walks []*walk) float64 {
	worst := 0.0
	for of := range walks[0].marginals.told {
		for i := range walks[0].marginals.told[of] {
			var told [chains]*account
			var all [chains]*marginal
			for k, w := range walks {
				told[k], all[k] = &w.marginals.told[of][i], w.marginals.of(of, i)
			}
			for p := range priors {
				worst = max(worst, share(told[:], all[:], p, of != ofMean))
			}
		}
	}
	return worst
}

// share is that of one quantity. What a look tells, taken for normal, leaves a chance beyond a limit
// of what all looks together tell; the average of these chances has the standard error that the averages
// of 20 batches of consecutive looks in each chain show; divided by the density at the limit that is the
// limit's own. Ratios are told by their logarithms and their limits count as they are; spreads count by
// their logarithms.
func share(told []*account, all []*marginal, p Prior, logs bool) float64 {
	const batches, tail, about = 20, 0.025, 0.005
	mass := slices.Clone(all[0].mass[p])
	for _, m := range all[1:] {
		for i, v := range m.mass[p] {
			mass[i] += v
		}
	}
	cum := cumulated(mass)
	if !(cum[len(cum)-1] > 0) {
		return 0
	}
	at := func(chance float64) float64 { return all[0].low + stepped(cum, chance)*all[0].gap }
	low, high := at(tail), at(1-tail)
	if !(high > low) {
		return 0
	}
	worst := 0.0
	for _, side := range [...]float64{-1, 1} {
		limit, one := low, at(tail+about)-at(tail-about) // what a chance of 2·about is wide there
		if side > 0 {
			limit, one = high, at(1-tail+about)-at(1-tail-about)
		}
		var beyond, weight [chains * batches]float64
		mean, total := 0.0, 0.0
		for i, w := range told {
			n := len(w.at)
			for k, x := range w.weight[p] {
				b := i*batches + k*batches/n
				beyond[b] += x * num.QuickPhi(side*(w.at[k]-limit)/(w.sd[k]+1e-9*(high-low)))
				weight[b] += x
			}
		}
		for b := range beyond {
			mean += beyond[b]
			total += weight[b]
		}
		mean /= total
		for b := range beyond { // of a ratio of averages
			beyond[b] = (beyond[b] - mean*weight[b]) / (total / float64(len(beyond)))
		}
		_, between := num.MeanSD(beyond[:])
		of := between / math.Sqrt(float64(len(beyond))) * one / (2 * about) / (high - low)
		if logs {
			of *= (high - low) * num.Exp(limit-high) / -math.Expm1(low-high)
		}
		worst = max(worst, of)
	}
	return worst
}
