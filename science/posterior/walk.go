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
	weight                     [priors][]float64
	marginals                  *marginals
}

func newWalk(c *chain) *walk {
	return &walk{c: c, mean: make([][]float64, c.l.Groups), logSD: make([][]float64, c.l.Groups),
		ratio: make([][]float64, len(c.tau)), effect: make([][]float64, c.columns), marginals: newMarginals(c)}
}

func (w *walk) len() int { return len(w.at) }

// lookEvery is every how many sweeps the marginals but those of means are added to, ownEvery those
// of groups by themselves: a multiple of it.
const (
	lookEvery = 2
	ownEvery  = 4
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

// on walks on and records every sweep.
func (w *walk) on(sweeps int) {
	c := w.c
	record := func(rows [][]float64, now []float64) {
		for i, v := range now {
			rows[i] = append(rows[i], v)
		}
	}
	for range sweeps {
		c.telling = true
		c.sweep()
		record(w.mean, c.m)
		record(w.logSD, c.u)
		record(w.ratio, c.tau)
		record(w.effect, c.a)
		square := 1.0
		for _, t := range c.tau {
			square += t * t
		}
		w.whole = append(w.whole, 0.5*math.Log(square))
		w.at = append(w.at, c.at)
		weight := c.weights()
		for p, x := range weight {
			w.weight[p] = append(w.weight[p], x)
		}
		w.marginals.lookAtMeans(c)
		if (len(w.at)-1)%lookEvery == 0 {
			w.marginals.look(c, weight)
		}
		if (len(w.at)-1)%ownEvery == 0 {
			w.marginals.lookAtOwn(c, weight)
		}
	}
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
		for i := range w.at {
			s := state{of: w, at: i, spread: w.whole[i]}
			for g := range l.group {
				s.spread += w.logSD[g][i] / float64(l.Groups)
				s.shift += (w.mean[g][i] - l.group[g].mean) * math.Exp(-l.group[g].guess)
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
		for j := range d.Effect[f] {
			d.Effect[f][j][k] = w.effect[column+j][i]
		}
		if !fac.Nested {
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
			var all [chains]*account
			for k, w := range walks {
				all[k] = &w.marginals.told[of][i]
			}
			for p := range priors {
				worst = max(worst, share(all[:], p, of == ofTau))
			}
		}
	}
	return worst
}

// share is that of one quantity. What a look tells, taken for normal, leaves a chance beyond a
// limit; its average over the looks has the standard error that the averages of 20 batches of
// consecutive looks in each chain show; and where a normal leaves 2.5 % its density is φ(1.96)/sd:
// the limit's error is that of the chance ÷ that density, its interval 2·1.96·sd. Ratios
// are told by their logarithms and their limits count as they are, which makes more of the upper one's
// error, and less of the lower one's; spreads count by their logarithms.
func share(walks []*account, p Prior, logs bool) float64 {
	const batches = 20
	first := walks[0].at[0] // keeps the digits of the differences
	total, mean, square, n := 0.0, 0.0, 0.0, len(walks[0].at)
	for _, w := range walks {
		for k, x := range w.weight[p] {
			v := w.at[k] - first
			total += x
			mean += x * v
			square += x * (v*v + w.sd[k]*w.sd[k])
		}
	}
	mean /= total
	sd := math.Sqrt(math.Max(0, square/total-mean*mean))
	if !(sd > 0) {
		return 0
	}
	worst := 0.0
	for _, side := range [...]float64{-1, 1} {
		limit := first + mean + side*z975*sd
		var beyond, off [chains * batches]float64
		all, weight := 0.0, [chains * batches]float64{}
		for i, w := range walks {
			for b := range batches {
				at := i*batches + b
				for k := b * n / batches; k < (b+1)*n/batches; k++ {
					beyond[at] += w.weight[p][k] * Phi(side*(w.at[k]-limit)/(w.sd[k]+1e-12*sd))
					weight[at] += w.weight[p][k]
				}
				all += beyond[at] / total
			}
		}
		for b := range off { // of a ratio of averages
			off[b] = (beyond[b] - all*weight[b]) / (total / float64(len(off)))
		}
		_, between := num.MeanSD(off[:])
		of := between / math.Sqrt(float64(len(off))) / num.NormalPDF(z975) / (2 * z975)
		if width := side * 2 * z975 * sd; logs {
			of *= width / -math.Expm1(-width)
		}
		worst = max(worst, of)
	}
	return worst
}
