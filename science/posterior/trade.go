package posterior

import "math"

// What single readings scatter by and what vials differ by are told apart by little where a vial
// is read two or three times, and the sum of both by much. So both are moved against each other,
// with means and vials integrated out, given the latent readings.

// moveTrade moves the vials' ratio alone, and all spreads against all ratios, so that vials and
// effects stay where they are on the scale of the readings.
func (c *chain) moveTrade() {
	t := c.newTrade()
	now := c.traded(t, 0, 1)
	for range trades {
		if f := c.l.vial; f != None {
			by := math.Exp(c.step.tau[f] * c.rng.NormFloat64())
			next := c.traded(t, 0, by)
			if c.accept(next-now+c.logPriorTau(f, c.tau[f]*by)-c.logPriorTau(f, c.tau[f]), &c.step.tau[f]) {
				c.tau[f] *= by
				now = next
			}
		}
		by := c.step.trade * c.rng.NormFloat64()
		next, gain := c.traded(t, by, 1), 0.0
		for f, tau := range c.tau {
			gain += c.logPriorTau(f, tau*math.Exp(-by)) - c.logPriorTau(f, tau)
		}
		if c.accept(next-now+gain, &c.step.trade) {
			now = next
			for g := range c.u {
				c.u[g] += by
			}
			c.x += by
			scale := math.Exp(-by)
			for _, v := range [][]float64{c.tau, c.a, c.v} {
				for i := range v {
					v[i] *= scale
				}
			}
		}
	}
}

// trades is how often each is tried in a sweep.
const trades = 2

// trade is what blocks say once effects have been taken off their readings: their
// averages, and by group the sum of squares about these.
type trade struct{ off, within []float64 }

func (c *chain) newTrade() trade {
	t := trade{c.scratch.blocks, c.scratch.groups[0]}
	clear(t.within)
	for b := range c.blockOf {
		k := &c.blockOf[b]
		s := c.sd(k.group)
		e := k.effects(c.a)
		t.off[b] = (k.y - s*e) / k.w
		squares, cross := 0.0, 0.0
		for _, j := range k.columns {
			cross += k.xy[j] * c.a[j]
			for _, h := range k.columns {
				squares += k.xx[j*c.columns+h] * c.a[j] * c.a[h]
			}
		}
		t.within[k.group] += math.Max(0, k.yy-2*s*cross+s*s*squares-t.off[b]*t.off[b]*k.w)
	}
	return t
}

// traded is the log likelihood, with the spreads' own priors, of spreads that have risen by
// so much in log, the vials' part on the scale of the readings multiplied by ratio:
//
//	Σ_g −(n − 1)·u + ½·Σ_b log ω_b − ½·log Σω − ½·(within + Σω·r² − (Σω·r)²/Σω)/s²
//
// ω = w/(1 + ρ²·w) of a block's average r, ρ the vials' part ÷ s.
func (c *chain) traded(t trade, by, ratio float64) float64 {
	top := c.l.floor + float64(c.l.points)*step
	rho, scale := 0.0, math.Exp(by)
	if c.l.vial != None {
		rho = c.tau[c.l.vial] * ratio / scale
	}
	lp, shares := 0.0, product{0, 1}
	for b := 0; b < len(c.blockOf); {
		g := c.blockOf[b].group
		sw, swr, swrr := 0.0, 0.0, 0.0
		for ; b < len(c.blockOf) && c.blockOf[b].group == g; b++ {
			k := &c.blockOf[b]
			omega, r := k.w, t.off[b]
			if k.vial {
				taken := 1 / (1 + rho*rho*k.w)
				omega *= taken
				shares.factor(taken)
			}
			sw += omega
			swr += omega * r
			swrr += omega * r * r
		}
		u, s := c.u[g]+by, c.sd(g)*scale
		if u < c.l.floor || u > top {
			return math.Inf(-1)
		}
		lp += -(c.count[g]-1)*u - 0.5*math.Log(sw) - 0.5*(t.within[g]+swrr-swr*swr/sw)/(s*s) + c.priorSpread(g, u) +
			c.roomAt(g, c.l.group[g].mean+swr/sw, s/math.Sqrt(sw))
	}
	return lp + 0.5*shares.value()
}
