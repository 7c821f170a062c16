package mixed

import "math"

// widthPower and flatness set the prior of the spread; see the package comment.
const widthPower, flatness = 1.5, 0.7

// priorSpread is the log prior of log φ and λ.
func (c *chain) priorSpread() float64 {
	lp := flatness*math.Log(c.phi) - 0.5*c.balance*c.balance/(balanceSD*balanceSD)
	for _, e := range c.d.ends {
		s := c.phi * shapeAt(c.balance, e.response/c.d.ref) / e.width
		lp -= widthPower * math.Log1p(1/s)
		if c.d.Coarse {
			lp -= math.Log1p(s * s / 4)
		}
	}
	return lp
}

// priorTau is the log prior of log τ_f: half-t with 3 degrees of freedom and
// scale Scale·φ.
func (c *chain) priorTau(f int) float64 {
	r := c.tau[f] / (c.d.Factors[f].Scale * c.phi)
	return math.Log(r) - 2*math.Log1p(r*r/3)
}

// priorEffects is the log density of factor f's effects.
func (c *chain) priorEffects(f int) float64 {
	s := 0.0
	for _, e := range c.effect[f] {
		s += e * e
	}
	return -0.5*s/(c.tau[f]*c.tau[f]) - float64(len(c.effect[f]))*math.Log(c.tau[f])
}

// inside keeps a mean within its bounds, which count only where all of the
// group's readings are open at that end.
func (c *chain) inside(g int, m float64) bool { return m >= c.d.floor[g] && m <= c.d.top[g] }

func (c *chain) moveMean(g int) {
	old := c.m[g]
	c.m[g] += c.step.m[g] * c.rng.NormFloat64()
	gain := math.Inf(-1)
	if c.inside(g, c.m[g]) {
		gain = c.likelihood(c.d.byGroup[g], c.scratch) - c.current(c.d.byGroup[g])
	}
	if c.accept(gain, &c.step.m[g]) {
		c.keep(c.d.byGroup[g])
		return
	}
	c.m[g] = old
}

func (c *chain) moveEffect(f, j int) {
	old := c.effect[f][j]
	step := c.step.effect[f][j] * c.rng.NormFloat64()
	c.effect[f][j] = old + step
	cells := c.d.byMember[f][j]
	c.addEffect(f, cells, step)
	gain := c.likelihood(cells, c.scratch) - c.current(cells) +
		0.5*(old*old-c.effect[f][j]*c.effect[f][j])/(c.tau[f]*c.tau[f])
	if c.accept(gain, &c.step.effect[f][j]) {
		c.keep(cells)
		return
	}
	c.effect[f][j] = old
	c.addEffect(f, cells, -step)
}

// addEffect carries a change of one effect of factor f into the cells' sums.
func (c *chain) addEffect(f int, cells []int, by float64) {
	for _, i := range cells {
		if f == c.d.vial {
			c.sum[i] += by * c.t[c.d.Technique[c.d.Cells[i].Group]]
		} else {
			c.sum[i] += by
		}
	}
}

// moveTau moves τ with its effects held still.
func (c *chain) moveTau(f int) {
	old := c.tau[f]
	before := c.priorTau(f) + c.priorEffects(f)
	c.tau[f] *= math.Exp(c.step.tau[f] * c.rng.NormFloat64())
	if !c.accept(c.priorTau(f)+c.priorEffects(f)-before, &c.step.tau[f]) {
		c.tau[f] = old
	}
}

// moveScale multiplies τ and its effects by one factor: the standardised
// effects stay, so that only the likelihood and the prior of τ decide.
func (c *chain) moveScale(f int) {
	k := math.Exp(c.step.scale[f] * c.rng.NormFloat64())
	before := c.priorTau(f)
	copy(c.scratch2, c.sum)
	c.scaleFactor(f, k)
	c.resum(c.d.all)
	gain := c.likelihood(c.d.all, c.scratch) - c.current(c.d.all) + c.priorTau(f) - before
	if c.accept(gain, &c.step.scale[f]) {
		c.keep(c.d.all)
		return
	}
	c.scaleFactor(f, 1/k)
	copy(c.sum, c.scratch2)
}

func (c *chain) scaleFactor(f int, k float64) {
	c.tau[f] *= k
	for j := range c.effect[f] {
		c.effect[f][j] *= k
	}
}

// shiftFactor draws a crossed factor's average anew and lets the means take
// up the difference: the likelihood does not notice, and the proposal is the
// prior of the average, so the move is refused only where a mean leaves its
// bounds.
func (c *chain) shiftFactor(f int) {
	n := float64(len(c.effect[f]))
	by := c.tau[f]/math.Sqrt(n)*c.rng.NormFloat64() - average(c.effect[f])
	for g := range c.m {
		if !c.inside(g, c.m[g]-by*c.h[g]) {
			return
		}
	}
	for g := range c.m {
		c.m[g] -= by * c.h[g]
	}
	for j := range c.effect[f] {
		c.effect[f][j] += by
		c.addEffect(f, c.d.byMember[f][j], by)
	}
}

// shiftVials does the same for the vials of one group.
func (c *chain) shiftVials(g int) {
	f := c.d.vial
	members := c.d.inGroup[g]
	if len(members) == 0 {
		return
	}
	mean := 0.0
	for _, j := range members {
		mean += c.effect[f][j]
	}
	n := float64(len(members))
	by := c.tau[f]/math.Sqrt(n)*c.rng.NormFloat64() - mean/n
	m := c.m[g] - by*c.h[g]*c.t[c.d.Technique[g]]
	if !c.inside(g, m) {
		return
	}
	c.m[g] = m
	for _, j := range members {
		c.effect[f][j] += by
		c.addEffect(f, c.d.byMember[f][j], by)
	}
}

// movePhi moves φ with the effects held still.
func (c *chain) movePhi() {
	old := c.phi
	before := c.priorSpread()
	for f := range c.tau {
		before += c.priorTau(f)
	}
	c.phi *= math.Exp(c.step.phi * c.rng.NormFloat64())
	gain := c.likelihood(c.d.all, c.scratch) - c.current(c.d.all) + c.priorSpread() - before
	for f := range c.tau {
		gain += c.priorTau(f)
	}
	if c.accept(gain, &c.step.phi) {
		c.keep(c.d.all)
		return
	}
	c.phi = old
}

// balanceSD is the prior standard deviation of λ = log(σ0/(κ·ref)).
const balanceSD = 4.5

// moveBalance moves λ, which says how much of the spread grows with the response.
func (c *chain) moveBalance() {
	if c.d.Groups == 1 {
		return // one response cannot tell a constant from a proportional spread
	}
	old, before := c.balance, c.priorSpread()
	copy(c.hold, c.h)
	c.balance += c.step.balance * c.rng.NormFloat64()
	for g := range c.h {
		c.h[g] = c.shape(g)
	}
	gain := c.likelihood(c.d.all, c.scratch) - c.current(c.d.all) + c.priorSpread() - before
	if c.accept(gain, &c.step.balance) {
		c.keep(c.d.all)
		return
	}
	c.balance = old
	copy(c.h, c.hold)
}

// techniqueSD is the prior standard deviation of log t.
const techniqueSD = 0.7

// moveTechnique moves how much a technique scatters against the reference.
func (c *chain) moveTechnique(t int) {
	oldLog, oldT := c.logT[t], c.t[t]
	c.logT[t] += c.step.logT[t] * c.rng.NormFloat64()
	c.t[t] = math.Exp(c.logT[t])
	cells := c.d.byTech[t]
	c.resum(cells)
	gain := c.likelihood(cells, c.scratch) - c.current(cells) +
		0.5*(oldLog*oldLog-c.logT[t]*c.logT[t])/(techniqueSD*techniqueSD)
	if c.accept(gain, &c.step.logT[t]) {
		c.keep(cells)
		return
	}
	c.logT[t], c.t[t] = oldLog, oldT
	c.resum(cells)
}

func (c *chain) resum(cells []int) {
	for _, i := range cells {
		c.sum[i] = c.shared(i)
	}
}

func average(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}
