package posterior

import "math"

// moveAll moves all spreads together: up or down; and to another shape and ω
// drawn from their prior, each group's distance from its form kept in units of ω.
func (c *chain) moveAll(inner, now []float64) {
	try := func(to func(g int) float64, step *float64) bool {
		gain := 0.0
		next := c.scratch.groups[2]
		for g := range next {
			next[g] = c.logSpread(g, to(g), inner[g])
			gain += next[g] - now[g]
		}
		if !c.accept(gain, step) {
			return false
		}
		for g := range next {
			c.u[g] = to(g)
		}
		copy(now, next)
		return true
	}
	by := c.step.shift[0] * c.rng.NormFloat64()
	if try(func(g int) float64 { return c.u[g] + by }, &c.step.shift[0]) {
		c.x += by
	}
	if len(c.shapes) == 1 {
		return
	}
	for range 1 {
		to := c.at
		to.shape, to.omega = c.fromPrior()
		ratio := freedoms[to.omega] / freedoms[c.at.omega]
		h := c.shapes[to.shape].logH
		old := c.scratch.groups[3]
		for g := range old {
			old[g] = c.u[g] - c.expected(g)
		}
		if try(func(g int) float64 { return c.x + h[g] + c.logT[c.l.Technique[g]] + ratio*old[g] }, nil) {
			c.at = to
		}
	}
}

// fromPrior draws a shape and an ω from the prior that the chain walks under.
func (c *chain) fromPrior() (shape, omega int) {
	p, k := Wide, c.at.kind
	if c.rng.Float64()*(kindPrior[Wide][k]+kindPrior[FormFavouring][k]) > kindPrior[Wide][k] {
		p = FormFavouring
	}
	q := c.rng.Float64()
	for shape = range c.shapes {
		if q -= c.shapes[shape].prior[p]; q <= 0 {
			break
		}
	}
	q = c.rng.Float64()
	for omega = range freedoms {
		if q -= c.free[c.at.kind][p][omega]; q <= 0 {
			break
		}
	}
	if c.mixed(c.at.kind, shape, omega) == 0 { // rounding at the end of a list
		return c.at.shape, c.at.omega
	}
	return shape, omega
}

// moveForm draws shape, ω and log φ from what the groups with many different
// answers say of them, and lets the others move along, their distance from the form kept
// in units of ω: their spread is hardly seen, and latent readings would hold it fast.
func (c *chain) moveForm() {
	if len(c.shapes) == 1 {
		return
	}
	n := 0.0
	for g := range c.u {
		if !c.coarse[g] {
			n++
		}
	}
	logs, mean := c.scratch.logs[:0], c.scratch.shapes[0]
	for s := range c.shapes {
		sum, square := 0.0, 0.0
		for g := range c.u {
			if !c.coarse[g] {
				d := c.u[g] - c.shapes[s].logH[g] - c.logT[c.l.Technique[g]]
				sum += d
				square += d * d
			}
		}
		if n > 0 {
			mean[s] = sum / n
			square = max(0, square-sum*sum/n)
		}
		for w := range freedoms {
			logs = append(logs, c.logMix[c.at.kind][s*len(freedoms)+w]-0.5*square*invSquare[w]-max(0, n-1)*logFreedom[w])
		}
	}
	i := c.choose(logs)
	to := c.at
	to.shape, to.omega = i/len(freedoms), i%len(freedoms)
	x := c.x
	if n > 0 {
		x = mean[to.shape] + freedoms[to.omega]/math.Sqrt(n)*c.rng.NormFloat64()
	}
	gain := 0.0
	next := c.scratch.groups[2]
	for g, u := range c.u {
		next[g] = u
		if !c.coarse[g] {
			continue
		}
		next[g] = x + c.shapes[to.shape].logH[g] + c.logT[c.l.Technique[g]] + freedoms[to.omega]/freedoms[c.at.omega]*(u-c.expected(g))
		if next[g] < c.l.floor || next[g] > c.l.floor+float64(c.l.points)*step {
			return
		}
		gain += c.logLikelihood(g, c.m[g], next[g], c.at, 1) - c.logLikelihood(g, c.m[g], u, c.at, 1) +
			c.l.priorSpread(g, next[g]) - c.l.priorSpread(g, u)
	}
	if c.accept(gain, nil) {
		copy(c.u, next)
		c.at, c.x = to, x
	}
}

// drawForm draws techniques, log φ, shape and ω given the groups' spreads.
func (c *chain) drawForm() {
	groups := float64(c.l.Groups)
	logs := c.scratch.logs[:len(c.shapes)]
	omega2 := freedoms[c.at.omega] * freedoms[c.at.omega]
	sum, square := c.scratch.shapes[0], c.scratch.shapes[1]
	clear(sum)
	clear(square)
	for s := range c.shapes {
		for g := range c.u {
			d := c.u[g] - c.shapes[s].logH[g] - c.logT[c.l.Technique[g]]
			sum[s] += d
			square[s] += d * d
		}
		square[s] = max(0, square[s]-sum[s]*sum[s]/groups)
		logs[s] = c.logMix[c.at.kind][s*len(freedoms)+c.at.omega] - 0.5*square[s]/omega2
	}
	c.at.shape = c.choose(logs)
	logs = logs[:0]
	for w := range freedoms {
		logs = append(logs, c.logMix[c.at.kind][c.at.shape*len(freedoms)+w]-(groups-1)*logFreedom[w]-0.5*square[c.at.shape]*invSquare[w])
	}
	c.at.omega = c.choose(logs)
	c.x = sum[c.at.shape]/groups + freedoms[c.at.omega]/math.Sqrt(groups)*c.rng.NormFloat64()
	omega2 = freedoms[c.at.omega] * freedoms[c.at.omega]
	for t := 1; t < c.l.techs; t++ {
		n, s := 0.0, 0.0
		for g := range c.u {
			if c.l.Technique[g] == t {
				n++
				s += c.u[g] - c.x - c.shapes[c.at.shape].logH[g]
			}
		}
		q := n/omega2 + 1/(techniqueSD*techniqueSD)
		c.logT[t] = s/omega2/q + c.rng.NormFloat64()/math.Sqrt(q)
	}
}
