package posterior

import (
	"math"
	"sync"
)

// chains is fixed, so that the answer does not depend on the machine.
const chains = 2

// How long a chain walks: at least leastSweeps, then in rounds until no limit's
// Monte Carlo error is more than aim of its interval, and no longer than mostSweeps, or half as
// long where these would not bring it there (a limit that the readings leave wide open);
// fewer where units are many and the posterior narrow. Each chain burns burnSweeps.
const (
	leastSweeps, roundSweeps, mostSweeps = 500, 250, 2000
	burnSweeps                           = 200
	fewSweeps, fewBurn                   = 300, 100  // where few draws are asked for
	mostUnits                            = 2_000_000 // times sweeps
	aim                                  = 0.05
)

// sample walks through the posterior where sources cross the groups, so that
// they cannot be integrated one by one. The random numbers come from the data,
// and so does the length of the walk.
func sample(l *layout) *Posterior { return sampled(l, l.name()) }

func sampled(l *layout, name uint64) *Posterior {
	l.goAlong()
	units := l.units()
	walks := make([]*walk, chains)
	each := func(work func(i int)) {
		var wg sync.WaitGroup
		for i := range walks {
			wg.Go(func() { work(i) })
		}
		wg.Wait()
	}
	top := min(max(mostUnits/len(units), 300), mostSweeps)
	burn := burnSweeps
	if l.Few {
		top, burn = min(top, fewSweeps), fewBurn
	}
	var seen [chains][priors]float64
	each(func(i int) {
		walks[i] = newWalk(newChain(l, units, name, uint64(i)))
		seen[i] = walks[i].burn(burn / 2)
	})
	wide := evenMix(seen[:])
	each(func(i int) {
		walks[i].c.mix(wide)
		walks[i].burn(burn / 2)
		walks[i].on(min(leastSweeps, top))
	})
	share := errorShare(walks)
	for n := walks[0].len(); share > aim && n < top; n = walks[0].len() {
		if n >= top/2 && share*math.Sqrt(float64(n)/float64(top)) > aim { // all of it would not do
			break
		}
		each(func(i int) { walks[i].on(min(roundSweeps, top-n)) })
		share = errorShare(walks)
	}
	states := inOrder(l, walks)
	wideN, formN := wideDraws, formDraws
	if l.Few { // no more than there are
		wideN, formN = min(fewDraws, len(states)), min(fewDraws, len(states))
	}
	p := &Posterior{Wide: pick(l, states, Wide, wideN), Form: pick(l, states, FormFavouring, formN), ErrorShare: share}
	for _, w := range walks[1:] {
		walks[0].marginals.join(w.marginals)
	}
	walks[0].marginals.order(Wide, p.Wide)
	walks[0].marginals.order(FormFavouring, p.Form)
	p.Wide.unseenVials(l, newLattice(p.Wide.Len(), 2+l.Groups), 0)
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
		if p.Own[g] = walks[0].marginals.own(g); walks[0].c.coarse[g] {
			p.Own[g] = l.own(g, l.ownTables(g, p.Share), p.Share)
		}
	}
	return p
}

// evenMix is the wide prior's part under which both priors have the same evidence, as walks
// under half of each have seen them: where the data speak against the wide one it would else
// be left with a few of the draws. Neither gets less than a tenth.
func evenMix(seen [][priors]float64) float64 {
	var sum [priors]float64
	for _, of := range seen {
		for p, x := range of {
			sum[p] += x
		}
	}
	return math.Min(math.Max(sum[FormFavouring]/(sum[Wide]+sum[FormFavouring]), 0.1), 0.9)
}

// unit is one reading, or, where there are very many, all that are alike.
type unit struct {
	cell, group, block int
	count              float64
	member             []int // columns of the crossed effects
	local              []int // where these stand among its block's columns
	seen               [][2]float64
}

// units opens the cells into single readings, so that each can be a slip.
func (l *layout) units() []unit {
	single := l.readings() <= mostKinds
	column, columns := make([]int, len(l.Factors)), 0
	for f, fac := range l.Factors {
		column[f] = columns
		if !fac.inside() {
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
			case l.Factors[f].inside():
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
			add(bits(s))
		}
		for _, m := range c.Member {
			add(uint64(m + 1))
		}
		add(math.Float64bits(c.Count))
	}
	return h
}
