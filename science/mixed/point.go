package mixed

import (
	"math"
	"sort"

	"knownwater/science/num"
)

// point maximises the likelihood over group means and effects together, with
// the spread parameters at their posterior medians: for exact readings without
// shared parts the weighted average, for intervals the maximum-likelihood mean.
// Coordinate-wise Newton steps; the common offset that means and effects trade
// is put to zero after each round, which is where its prior wants it.
func point(l *layout, p *Posterior) []float64 {
	c := newChain(l, num.Source(0))
	c.phi, c.balance = middleOf(p.Phi), middleOf(p.Balance)
	for f := range c.tau {
		c.tau[f] = middleOf(p.Tau[f])
	}
	for t := range c.logT {
		c.logT[t] = math.Log(middleOf(p.T[t]))
	}
	for g := range c.m {
		c.m[g] = average(p.Mean[g])
	}
	c.refresh()
	h := append([]float64(nil), c.h...)
	for range 60 {
		moved := 0.0
		for g := range c.m {
			step := c.meanStep(g)
			c.m[g] += step
			moved = math.Max(moved, math.Abs(step)/(c.phi*h[g]))
		}
		for f := range c.effect {
			for j := range c.effect[f] {
				step := c.effectStep(f, j)
				c.effect[f][j] += step
				c.addEffect(f, l.byMember[f][j], step)
			}
			c.centre(f)
		}
		if moved < 1e-10 {
			break
		}
	}
	for g := range c.m {
		c.m[g] = math.Min(math.Max(c.m[g], l.floor[g]), l.top[g])
	}
	return c.m
}

func middleOf(v []float64) float64 {
	s := append([]float64(nil), v...)
	sort.Float64s(s)
	return num.Quantile(s, 0.5)
}

// climb gives the first derivative of the cells' log likelihood to a location
// parameter, and minus the second; rate says by how much the latent mean of a
// group's readings moves with the parameter.
func (c *chain) climb(cells []int, rate func(group int) float64) (slope, bend float64) {
	for _, i := range cells {
		cell := &c.d.Cells[i]
		g := cell.Group
		sd := c.phi * c.h[g] * c.t[c.d.Technique[g]]
		mu := c.m[g] + c.h[g]*c.sum[i]
		s, b := scoreAndBend((cell.Low-mu)/sd, (cell.High-mu)/sd)
		r := rate(g) / sd
		slope += cell.Count * s * r
		bend += cell.Count * b * r * r
	}
	return slope, bend
}

func (c *chain) meanStep(g int) float64 {
	slope, bend := c.climb(c.d.byGroup[g], func(int) float64 { return 1 })
	if !(bend > 0) {
		return 0 // all readings in one interval and far inside it: nothing to climb
	}
	limit := 3 / math.Sqrt(bend) // beyond it the quadratic is not to be trusted
	return math.Max(-limit, math.Min(limit, slope/bend))
}

func (c *chain) effectStep(f, j int) float64 {
	slope, bend := c.climb(c.d.byMember[f][j], func(g int) float64 {
		if f == c.d.vial {
			return c.h[g] * c.t[c.d.Technique[g]]
		}
		return c.h[g]
	})
	precision := 1 / (c.tau[f] * c.tau[f])
	return (slope - c.effect[f][j]*precision) / (bend + precision)
}

// centre puts the average effect of a factor (of a group's vials) to zero and
// gives it to the means.
func (c *chain) centre(f int) {
	if f == c.d.vial {
		for g, members := range c.d.inGroup {
			if len(members) == 0 {
				continue
			}
			mean := 0.0
			for _, j := range members {
				mean += c.effect[f][j] / float64(len(members))
			}
			for _, j := range members {
				c.effect[f][j] -= mean
				c.addEffect(f, c.d.byMember[f][j], -mean)
			}
			c.m[g] += mean * c.h[g] * c.t[c.d.Technique[g]]
		}
		return
	}
	mean := average(c.effect[f])
	for j := range c.effect[f] {
		c.effect[f][j] -= mean
		c.addEffect(f, c.d.byMember[f][j], -mean)
	}
	for g := range c.m {
		c.m[g] += mean * c.h[g]
	}
}

// scoreAndBend are the first derivative of log(Φ(b) − Φ(a)) to a shift of the
// mean in standard deviations, and minus the second.
func scoreAndBend(a, b float64) (score, bend float64) {
	if b-a < 1e-4 { // as good as exact, and free of cancellation
		return a + (b-a)/2, 1
	}
	log := num.LogPhiDiff(a, b)
	pa, pb := ratio(a, log), ratio(b, log)
	score = pa - pb
	za, zb := 0.0, 0.0
	if !math.IsInf(a, 0) {
		za = a * pa
	}
	if !math.IsInf(b, 0) {
		zb = b * pb
	}
	return score, math.Max(0, score*score-za+zb)
}

// ratio is φ(z)/(Φ(b) − Φ(a)) from the logarithm of the difference.
func ratio(z, logDiff float64) float64 {
	if math.IsInf(z, 0) {
		return 0
	}
	return math.Exp(num.LogNormalPDF(z) - logDiff)
}
