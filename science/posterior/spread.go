package posterior

import "math"

// logSpread is the log likelihood of a group's log spread, means and vials
// integrated out, with the group's own prior; inner is A·QzX.
func (c *chain) logSpread(g int, u, inner float64) float64 {
	if u < c.l.floor || u > c.l.floor+float64(c.l.points)*step {
		return math.Inf(-1)
	}
	inv := math.Exp(-u)
	return -(c.count[g]-1)*u - 0.5*c.qzz[g]*inv*inv + inner*inv + c.l.priorSpread(g, u)
}

// drawSpreads moves each group's spread, and then all of them along what binds
// them, so that neither holds the other fast.
func (c *chain) drawSpreads() {
	inner, now := c.scratch.groups[0], c.scratch.groups[1]
	omega := freedoms[c.at.omega]
	for g := range c.u {
		inner[g] = dot(c.a, c.qzx[g])
		now[g] = c.logSpread(g, c.u[g], inner[g])
		centre := c.expected(g)
		size := 2.4 / math.Sqrt(2*c.count[g]+1/(omega*omega))
		for range 3 {
			u := c.u[g] + size*c.rng.NormFloat64()
			next := c.logSpread(g, u, inner[g])
			z0, z1 := (c.u[g]-centre)/omega, (u-centre)/omega
			if c.accept(next-now[g]+0.5*(z0*z0-z1*z1), nil) {
				c.u[g], now[g] = u, next
			}
		}
	}
	c.moveAll(inner, now)
}
