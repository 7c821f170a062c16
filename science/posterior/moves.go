package posterior

import (
	"math"

	"knownwater/science/num"
)

// moveCoarse moves mean and spread of a group with few different answers
// against the intervals themselves: there latent readings hold them fast.
func (c *chain) moveCoarse(g int) {
	gr := &c.l.group[g]
	centre, omega := c.expected(g), freedoms[c.at.omega]
	prior := func(u float64) float64 {
		z := (u - centre) / omega
		return -0.5*z*z + c.l.priorSpread(g, u)
	}
	now := c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
	m := c.m[g] + c.step.coarseM[g]*c.rng.NormFloat64()
	if m >= gr.low && m <= gr.high {
		if next := c.logLikelihood(g, m, c.u[g], c.at, 1); c.accept(next-now, &c.step.coarseM[g]) {
			c.m[g], now = m, next
		}
	}
	u := c.u[g] + c.step.coarseU[g]*c.rng.NormFloat64()
	if u < c.l.floor {
		return
	}
	if next := c.logLikelihood(g, c.m[g], u, c.at, 1); c.accept(next-now+prior(u)-prior(c.u[g]), &c.step.coarseU[g]) {
		c.u[g], now = u, next
	}
	c.moveAbout(g, now, prior)
}

// moveAbout moves mean and spread of a group together so that the distance
// from the boundary between its answers, in standard deviations, stays: with
// two answers that changes no chance of either.
func (c *chain) moveAbout(g int, now float64, prior func(u float64) float64) {
	edge := math.Inf(-1)
	for i := c.start[g]; i < c.start[g+1]; i++ {
		edge = math.Max(edge, c.units[i].seen[c.at.share][0])
	}
	if math.IsInf(edge, -1) {
		return
	}
	by := c.step.about[g] * c.rng.NormFloat64()
	u := c.u[g] + by
	m := edge + (c.m[g]-edge)*math.Exp(by)
	gr := &c.l.group[g]
	if u < c.l.floor || math.Abs(by) > 5 || m < gr.low || m > gr.high {
		return
	}
	gain := c.logLikelihood(g, m, u, c.at, 1) - now + prior(u) - prior(c.u[g]) + by
	if c.accept(gain, &c.step.about[g]) {
		c.m[g], c.u[g] = m, u
	}
}

// moveShare tries a neighbouring sharing of the gaps.
func (c *chain) moveShare() {
	to := c.at
	to.share = c.rng.IntN(len(c.l.Shares))
	gain := math.Log(c.l.Shares[to.share] / c.l.Shares[c.at.share])
	for g := range c.m {
		gain += c.logLikelihood(g, c.m[g], c.u[g], to, 1) - c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
	}
	if c.accept(gain, nil) {
		c.at = to
	}
}

// moveKind tries another kind with something between the width of its first
// part, the scatter of most readings, and the normal-equivalent one held still:
// spread and all that is told in it move along.
func (c *chain) moveKind() {
	to := c.at
	to.kind = Kind((int(c.at.kind) + 1 + c.rng.IntN(int(kinds)-1)) % int(kinds))
	by := c.rng.Float64() * math.Log(scatters()[to.kind].unit/scatters()[c.at.kind].unit)
	gain := math.Log(c.mixed(to.kind, to.shape, to.omega)) - math.Log(c.mixed(c.at.kind, c.at.shape, c.at.omega))
	c.scaled(to, by, gain, nil)
}

// shiftShared draws the average of each group's vials, and of each crossed
// factor's effects, anew and lets the means take up the difference: no reading
// notices, so that the prior of the average is drawn from.
func (c *chain) shiftShared() {
	if c.l.vial != None {
		sum, n := c.scratch.groups[0], c.scratch.groups[1]
		clear(sum)
		clear(n)
		for b := range c.blockOf {
			if k := &c.blockOf[b]; k.vial {
				sum[k.group] += c.v[b]
				n[k.group]++
			}
		}
		by := sum
		for g := range by {
			if n[g] > 0 {
				by[g] = c.tau[c.l.vial]/math.Sqrt(n[g])*c.rng.NormFloat64() - sum[g]/n[g]
				if m := c.m[g] - by[g]*c.sd(g); c.blocksOther[g] || m < c.l.group[g].low || m > c.l.group[g].high {
					by[g] = 0
				} else {
					c.m[g] = m
				}
			}
		}
		for b := range c.blockOf {
			if k := &c.blockOf[b]; k.vial {
				c.v[b] += by[k.group]
			}
		}
	}
	for f, fac := range c.l.Factors {
		if fac.Nested || c.partly[f] {
			continue
		}
		effect := c.a[c.first[f] : c.first[f]+fac.Members]
		by := c.tau[f]/math.Sqrt(float64(fac.Members))*c.rng.NormFloat64() - num.Mean(effect)
		inside := true
		for g, m := range c.m {
			m -= by * c.sd(g)
			inside = inside && m >= c.l.group[g].low && m <= c.l.group[g].high
		}
		if !inside {
			continue
		}
		for g := range c.m {
			c.m[g] -= by * c.sd(g)
		}
		for j := range effect {
			effect[j] += by
		}
	}
}

// moveScales moves all spreads against what they are shared with: repeatability
// while the effects stay where they are on the scale of the readings, or the
// vials' part alone.
func (c *chain) moveScales() {
	if c.l.vial != None && c.turn%4 == 0 {
		f := c.l.vial
		by := math.Exp(c.step.about[len(c.step.about)-1] * c.rng.NormFloat64())
		gain := c.logPriorTau(f, c.tau[f]*by) - c.logPriorTau(f, c.tau[f])
		old := c.scratch.blocks
		copy(old, c.v)
		for g := range c.m {
			gain -= c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
		}
		for b := range c.v {
			c.v[b] *= by
		}
		for g := range c.m {
			gain += c.logLikelihood(g, c.m[g], c.u[g], c.at, 1)
		}
		if c.accept(gain, &c.step.about[len(c.step.about)-1]) {
			c.tau[f] *= by
		} else {
			copy(c.v, old)
		}
		return
	}
	tune := &c.step.shift[1]
	c.scaled(c.at, *tune*c.rng.NormFloat64(), 0, tune)
}

// scaled tries to divide all spreads by e^by and to multiply what is told in
// them by it, so that it stays on the scale of the readings.
func (c *chain) scaled(to place, by, gain float64, tune *float64) {
	scale := math.Exp(by)
	for g, u := range c.u {
		if u-by < c.l.floor || u-by > c.l.floor+float64(c.l.points)*step {
			return
		}
		gain += c.l.priorSpread(g, u-by) - c.l.priorSpread(g, u)
		gain += c.logLikelihood(g, c.m[g], u-by, to, scale) - c.logLikelihood(g, c.m[g], u, c.at, 1)
	}
	for f, tau := range c.tau {
		gain += c.logPriorTau(f, tau*scale) - c.logPriorTau(f, tau)
	}
	if !c.accept(gain, tune) {
		return
	}
	c.at = to
	c.x -= by
	for _, v := range [][]float64{c.tau, c.a, c.v} {
		for i := range v {
			v[i] *= scale
		}
	}
	for g := range c.u {
		c.u[g] -= by
	}
}

// logLikelihood of a group's intervals given its mean and log spread, the
// latent readings and their weights integrated out. by scales all effects.
func (c *chain) logLikelihood(g int, m, u float64, at place, by float64) float64 {
	s := 0.0
	if u == c.u[g] {
		s = c.sd(g)
	} else {
		s = math.Exp(u)
	}
	sc, sum := scatters()[at.kind], product{0, 1}
	inv := 1 / s
	for i := c.start[g]; i < c.start[g+1]; i++ {
		un := &c.units[i]
		mu := m + s*by*c.shared(i)
		if c.exact[i] {
			sum.log += un.count * (sc.density((c.z[i]-mu)*inv) - u)
			continue
		}
		seen := &un.seen[at.share]
		sum.times(sc, (seen[0]-mu)*inv, (seen[1]-mu)*inv, un.count)
	}
	return sum.value()
}
