package posterior

import (
	"math"
	"slices"
	"sync"

	"knownwater/science/num"
)

// chains is fixed, so that the answer does not depend on the machine.
const chains = 2

// sample walks through the posterior where sources cross the groups, so that
// they cannot be integrated one by one. The random numbers come from the data.
func sample(l *layout) *Posterior {
	units := l.units()
	keep, every, burn := length(len(units))
	walks := make([]*walk, chains)
	var wg sync.WaitGroup
	for i := range walks {
		wg.Go(func() {
			c := newChain(l, units, l.name(), uint64(i))
			walks[i] = c.walk(keep/chains, every, burn)
		})
	}
	wg.Wait()
	p := &Posterior{Wide: pick(l, walks, Wide, keep), Form: pick(l, walks, FormFavouring, keep/2)}
	p.ErrorShare = errorShare(walks)
	points := newLattice(p.Wide.Len(), 2+l.Groups)
	p.Wide.unseenVials(l, points, 0)
	p.Form.unseenVials(l, newLattice(p.Form.Len(), 2+l.Groups), 0)
	p.Share = make([]float64, len(l.Shares))
	total := 0.0
	for _, w := range walks {
		for k, r := range w.at {
			p.Kind[r.kind] += w.weight[Wide][k]
			p.Share[r.share] += w.weight[Wide][k]
			total += w.weight[Wide][k]
		}
	}
	for k := range p.Kind {
		p.Kind[k] /= total
	}
	for s := range p.Share {
		p.Share[s] /= total
	}
	p.Point = l.point(p, 0)
	p.Own = make([]Own, l.Groups)
	for g := range p.Own {
		p.Own[g] = Own{math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)}
	}
	return p
}

// length chooses how many draws to keep, every how many sweeps, and how many
// sweeps to burn: as many as a limit good to 3 % of its interval wants, fewer
// where units are many and the posterior narrow. ErrorShare tells what that costs.
func length(units int) (keep, every, burn int) {
	sweeps := min(max(1_200_000/max(units, 1), 600), 12_000)
	keep = min(2000, sweeps)
	return keep, max(1, sweeps/keep), max(250, sweeps/20)
}

// unit is one reading, or, where there are very many, all that are alike.
type unit struct {
	cell, group, block int
	count              float64
	member             []int // columns of the crossed effects
	seen               [][2]float64
}

// units opens the cells into single readings, so that each can be a slip.
func (l *layout) units() []unit {
	single := l.readings() <= mostKinds
	column, columns := make([]int, len(l.Factors)), 0
	for f, fac := range l.Factors {
		column[f] = columns
		if !fac.Nested {
			columns += fac.Members
		}
	}
	block := map[[2]int]int{}
	var all []unit
	for i, c := range l.Cells {
		u := unit{cell: i, group: c.Group, count: c.Count, seen: c.Seen}
		vial := None
		for f, j := range c.Member {
			switch {
			case j == None:
			case l.Factors[f].Nested:
				vial = j
			default:
				u.member = append(u.member, column[f]+j)
			}
		}
		key := [2]int{c.Group, vial}
		if _, ok := block[key]; !ok {
			block[key] = len(block)
		}
		u.block = block[key]
		n := 1
		if single {
			n, u.count = int(c.Count), 1
		}
		for range n {
			all = append(all, u)
		}
	}
	return all
}

// name is a number that the sorted data give themselves (FNV-1a over their bits).
func (l *layout) name() uint64 {
	h := uint64(14695981039346656037)
	add := func(v uint64) {
		for range 8 {
			h = (h ^ v&255) * 1099511628211
			v >>= 8
		}
	}
	for _, c := range l.Cells {
		add(uint64(c.Group))
		for _, s := range c.Seen[0] {
			add(uint64(int64(math.Round(math.Max(-1e9, math.Min(1e9, s*1e6))))))
		}
		for _, m := range c.Member {
			add(uint64(m + 1))
		}
		add(math.Float64bits(c.Count))
	}
	return h
}

// walk is what one chain recorded.
type walk struct {
	mean, logSD, ratio, effect [][]float64 // [quantity][record]
	at                         []place
	weight                     [priors][]float64
}

// place is where the chain stood in the discrete parameters.
type place struct {
	kind         Kind
	share        int
	shape, omega int
}

func (c *chain) walk(keep, every, burn int) *walk {
	w := &walk{mean: table(c.l.Groups, keep), logSD: table(c.l.Groups, keep), ratio: table(len(c.l.Factors), keep),
		effect: table(c.columns, keep)}
	c.adapting = true
	for range burn {
		c.sweep()
	}
	c.adapting = false
	for k := range keep {
		for range every {
			c.sweep()
		}
		for g := range c.m {
			w.mean[g][k], w.logSD[g][k] = c.m[g], c.u[g]
		}
		for f := range c.tau {
			w.ratio[f][k] = c.tau[f]
		}
		for j, a := range c.a {
			w.effect[j][k] = a
		}
		w.at = append(w.at, c.at)
		for p := range w.weight {
			w.weight[p] = append(w.weight[p], c.prior(c.at.kind, Prior(p), c.at.shape, c.at.omega)/c.mixed(c.at.kind, c.at.shape, c.at.omega))
		}
	}
	return w
}

// pick takes n draws in proportion to their weights under a prior, evenly along
// their order.
func pick(l *layout, walks []*walk, p Prior, n int) *Draws {
	d := newDraws(l, n)
	total := 0.0
	for _, w := range walks {
		for _, x := range w.weight[p] {
			total += x
		}
	}
	sum, k := 0.0, 0
	for _, w := range walks {
		for i, x := range w.weight[p] {
			for sum += x; k < n && (float64(k)+0.5)/float64(n)*total < sum; k++ {
				d.take(l, w, i, k)
			}
		}
	}
	for ; k < n; k++ { // rounding at the end
		d.take(l, walks[len(walks)-1], len(walks[0].at)-1, k)
	}
	return d
}

func (d *Draws) take(l *layout, w *walk, i, k int) {
	for g := range d.Mean {
		d.Mean[g][k], d.LogSD[g][k] = w.mean[g][i], w.logSD[g][i]
	}
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

// errorShare estimates the Monte Carlo error of the means' 97.5 % limits from
// the averages of 20 batches of consecutive draws in each chain: a limit of a
// normal has the standard error 2.67·sd/√n of n independent draws, 0.68/√n of
// its interval.
func errorShare(walks []*walk) float64 {
	const batches = 20
	worst := 0.0
	for g := range walks[0].mean {
		var means, draws []float64
		for _, w := range walks {
			size := len(w.mean[g]) / batches
			draws = append(draws, w.mean[g]...)
			for b := range batches {
				means = append(means, num.Mean(w.mean[g][b*size:(b+1)*size]))
			}
		}
		_, between := num.MeanSD(means)
		_, sd := num.MeanSD(draws)
		if sd > 0 {
			worst = math.Max(worst, 0.68*between/math.Sqrt(float64(len(means)))/sd)
		}
	}
	return worst
}

// distinct is how many different intervals a group shows.
func (l *layout) distinct(g int) int {
	var seen [][2]float64
	for _, i := range l.group[g].cells {
		if s := l.Cells[i].Seen[0]; !slices.Contains(seen, s) {
			seen = append(seen, s)
		}
	}
	return len(seen)
}
