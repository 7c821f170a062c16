package posterior

import (
	"math"

	"knownwater/science/num"
)

// What single readings scatter by and what vials differ by are told apart by little where a vial
// is read two or three times, and the sum of both by much. So both are moved against each other,
// with means and vials integrated out, given the latent readings.

// moveTrade moves the vials' ratio alone, and all spreads against all ratios, so that vials and
// effects stay where they are on the scale of the readings.
func (c *chain) moveTrade() {
	t := c.newTrade()
	now := c.traded(t, 0, 1)
	tries := trades
	if c.l.vial == None {
		tries = tradesAlone
	}
	for range tries {
		if f := c.l.vial; f != None {
			by := num.Exp(c.step.tau[f] * c.rng.NormFloat64())
			next := c.traded(t, 0, by)
			if c.accept(next-now+c.logPriorTau(f, c.tau[f]*by)-c.logPriorTau(f, c.tau[f]), &c.step.tau[f]) {
				c.tau[f] *= by
				now = next
			}
		}
		by := c.step.trade * c.rng.NormFloat64()
		next := c.traded(t, by, 1)
		if c.accept(next-now+c.gainOfRatios(num.Exp(-by)), &c.step.trade) {
			now = next
			for g := range c.u {
				c.u[g] += by
			}
			c.x += by
			c.multiply(num.Exp(-by))
		}
	}
}

// trades is how often each is tried in a sweep, tradesAlone the second where there are no vials.
const (
	trades      = 6
	tradesAlone = 3
)

// trade is what blocks say once effects have been taken off their readings: by group the sum
// of squares about their averages, and of the averages the sums over blocks that weigh alike,
// which most do.
type trade struct {
	within []float64
	alike  []alike
	of     []int // of each group, the end of its own
}

type alike struct {
	vial              bool
	w, n, off, square float64 // the weight of each, how many, and Σr and Σr² of their averages
}

func (c *chain) newTrade() trade {
	t := trade{within: c.scratch.groups[0], alike: c.scratch.alike[:0], of: c.scratch.told}
	clear(t.within)
	first := 0 // of the group's own
	for b := range c.blockOf {
		k := &c.blockOf[b]
		if b > 0 && c.blockOf[b-1].group != k.group {
			first = len(t.alike)
		}
		s, a := c.sd(k.group), c.a
		if c.anyFlat {
			s, a = 1, c.onScale(k.group, a)
		}
		off := (k.y - s*k.effects(a)) / k.w
		t.within[k.group] += max(0, k.yy-2*s*k.cross(a)+s*s*k.square(a)-off*off*k.w)
		at := first
		for at < len(t.alike) && (t.alike[at].w != k.w || t.alike[at].vial != k.vial) {
			at++
		}
		if at == len(t.alike) {
			t.alike = append(t.alike, alike{vial: k.vial, w: k.w})
		}
		same := &t.alike[at]
		same.n++
		same.off += off
		same.square += off * off
		t.of[k.group] = len(t.alike)
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
	rho, scale := 0.0, num.Exp(by)
	if c.l.vial != None {
		rho = c.tau[c.l.vial] * ratio / scale
	}
	lp, shares := 0.0, product{0, 1}
	at := 0
	for g := range c.u {
		sw, swr, swrr := 0.0, 0.0, 0.0
		for ; at < t.of[g]; at++ {
			k := &t.alike[at]
			omega := k.w
			if k.vial {
				taken := 1 / (1 + rho*rho*k.w)
				omega *= taken
				for range int(k.n) {
					shares.factor(taken)
				}
			}
			sw += omega * k.n
			swr += omega * k.off
			swrr += omega * k.square
		}
		u, s := c.u[g]+by, c.sd(g)*scale
		if u < c.l.floor || u > top {
			return math.Inf(-1)
		}
		shares.factor(1 / sw)
		lp += -(c.count[g]-1)*u - 0.5*(t.within[g]+max(0, swrr-swr*swr/sw))/(s*s) + c.priorSpread(g, u) +
			c.roomAt(g, c.l.group[g].mean+swr/sw, s/math.Sqrt(sw))
	}
	return lp + 0.5*shares.value()
}
