package posterior

import (
	"math"

	"knownwater/science/num"
)

// logSpread is the log likelihood of a group's log spread, means and vials
// integrated out, with the group's own prior.
func (c *chain) logSpread(g int, u float64, of given) float64 {
	if u < c.l.floor || u > c.l.floor+float64(c.l.points)*step {
		return math.Inf(-1)
	}
	inv := num.Exp(-u)
	return -(c.count[g]-1)*u - 0.5*of.square*inv*inv + of.inner*inv + c.priorSpread(g, u) + c.room(g, 1/inv, of.lean, of.off)
}

// drawSpreads draws each group's spread, and then all of them along what binds
// them, so that neither holds the other fast.
func (c *chain) drawSpreads() {
	of, now := c.scratch.given, c.scratch.groups[1]
	omega := freedoms[c.at.omega]
	for g := range c.u {
		of[g] = c.givenOf(g, c.a)
		now[g] = c.logSpread(g, c.u[g], of[g])
		centre := c.expected(g)
		size := 2.4 / math.Sqrt(2*c.count[g]+1/(omega*omega))
		tries := 3
		if mode, sd, ok := c.aboutSpread(g, of[g], centre, 1/(omega*omega)); ok {
			u := mode + sd*c.rng.NormFloat64()
			next := c.logSpread(g, u, of[g])
			z0, z1 := (c.u[g]-centre)/omega, (u-centre)/omega
			q0, q1 := (c.u[g]-mode)/sd, (u-mode)/sd
			if c.accept(next-now[g]+0.5*(z0*z0-z1*z1+q1*q1-q0*q0), nil) {
				c.u[g], now[g] = u, next
			}
			tries = 1
		}
		for range tries {
			u := c.u[g] + size*c.rng.NormFloat64()
			next := c.logSpread(g, u, of[g])
			z0, z1 := (c.u[g]-centre)/omega, (u-centre)/omega
			if c.accept(next-now[g]+0.5*(z0*z0-z1*z1), nil) {
				c.u[g], now[g] = u, next
			}
		}
	}
	c.moveAll(of, now)
}

// aboutSpread is a normal about where the log spread of a group is likely, given
// its latent readings, the effects and its form, and independent of where the chain
// stands: the root of the readings' part in closed form, joined with the form's
// normal of the given precision, and two Newton steps; a little wide.
func (c *chain) aboutSpread(g int, of given, centre, tight float64) (mode, sd float64, ok bool) {
	return aboutScale(c.count[g]-1, of.square, of.inner, centre, tight)
}

// aboutScale is that of the likelihood −n·u − ½·q·e^(−2u) + inner·e^(−u).
func aboutScale(n, q, inner, centre, tight float64) (mode, sd float64, ok bool) {
	if n < 2 || !(q > 0) {
		return 0, 0, false
	}
	e := (inner + math.Sqrt(inner*inner+4*q*n)) / (2 * q)
	if !(e > 0) || math.IsInf(e, 1) {
		return 0, 0, false
	}
	bend := q*e*e + n
	mode = (-num.Log(e)*bend + centre*tight) / (bend + tight)
	for range 2 {
		e = num.Exp(-mode)
		slope := -n + q*e*e - inner*e - (mode-centre)*tight
		bend = max(2*q*e*e-inner*e, 0.5*n) + tight
		mode += max(-1, min(1, slope/bend))
	}
	return mode, 1.1 / math.Sqrt(bend), true
}
