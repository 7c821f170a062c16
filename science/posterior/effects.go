package posterior

import "math"

// drawEffects draws all crossed effects together, means and vials integrated out.
func (c *chain) drawEffects() {
	n := c.columns
	if n == 0 {
		return
	}
	right := c.scratch.right
	for j := range right {
		right[j] = c.pull(j)
	}
	q := c.scratch.square
	copy(q, c.big)
	for f, fac := range c.l.Factors {
		if fac.Nested {
			continue
		}
		for j := range fac.Members {
			at := c.first[f] + j
			q[at*n+at] += 1 / (c.tau[f] * c.tau[f])
		}
	}
	if n <= mostTogether && cholesky(q, n) {
		solveLower(q, n, right)
		for j := range right {
			right[j] += c.rng.NormFloat64()
		}
		solveUpper(q, n, right)
		c.takeEffects(right)
	} else {
		c.oneByOne()
	}
	if len(c.bounded) > 0 { // which may refuse all of them together
		c.oneByOne()
	}
	// the sizes: τ and its effects together, which the readings hold loosely
	for f, fac := range c.l.Factors {
		if !fac.Nested {
			c.scale(f, fac.Members)
		}
	}
}

// takeEffects puts effects drawn without regard to the bounds of the means in the
// place of those that stand, by the chance that the bounds leave both.
func (c *chain) takeEffects(to []float64) {
	gain := 0.0
	for _, g := range c.bounded {
		s := c.sd(g)
		gain += c.room(g, s, c.lean(g, to)) - c.room(g, s, c.lean(g, c.a))
	}
	if len(c.bounded) == 0 || c.accept(gain, nil) {
		copy(c.a, to)
	}
}

func (c *chain) oneByOne() {
	n := c.columns
	to := c.scratch.right
	copy(to, c.a)
	for f, fac := range c.l.Factors {
		if fac.Nested {
			continue
		}
		for j := range fac.Members {
			at := c.first[f] + j
			row := c.big[at*n : at*n+n]
			b := c.pull(at) - dot(row, c.a) + row[at]*c.a[at]
			q := row[at] + 1/(c.tau[f]*c.tau[f])
			to[at] = b/q + c.rng.NormFloat64()/math.Sqrt(q)
			c.takeEffects(to)
			to[at] = c.a[at]
		}
	}
}

// scale multiplies τ_f and its effects by one factor: the standardised effects
// stay, so that the readings and the prior of τ decide.
func (c *chain) scale(f, members int) {
	n := c.columns
	linear, square := 0.0, 0.0
	moving, still := c.scratch.groups[0], c.scratch.groups[1] // parts of what leans on a bounded mean
	for _, g := range c.bounded {
		moving[g] = dot(c.sumX[g][c.first[f]:c.first[f]+members], c.a[c.first[f]:])
		still[g] = c.lean(g, c.a) - moving[g]
	}
	room := func(by float64) (sum float64) {
		for _, g := range c.bounded {
			sum += c.room(g, c.sd(g), still[g]+by*moving[g])
		}
		return sum
	}
	for j := c.first[f]; j < c.first[f]+members; j++ {
		others := 0.0
		for h := range n {
			if h < c.first[f] || h >= c.first[f]+members {
				others += c.big[j*n+h] * c.a[h]
			} else {
				square += c.big[j*n+h] * c.a[j] * c.a[h]
			}
		}
		linear += (c.pull(j) - others) * c.a[j]
	}
	whole, now := 1.0, room(1)
	for range tauTries {
		by := math.Exp(c.step.scale[f] * c.rng.NormFloat64())
		to := whole * by
		next := room(to)
		gain := linear*(to-whole) - 0.5*square*(to*to-whole*whole) + c.logPriorTau(f, c.tau[f]*by) - c.logPriorTau(f, c.tau[f]) + next - now
		if c.accept(gain, &c.step.scale[f]) {
			c.tau[f] *= by
			whole, now = to, next
		}
	}
	for j := c.first[f]; j < c.first[f]+members; j++ {
		c.a[j] *= whole
	}
}

// moveTau moves τ with its effects held still.
func (c *chain) moveTau(f int) {
	s := 0.0
	for j := c.first[f]; j < c.first[f]+c.l.Factors[f].Members; j++ {
		s += c.a[j] * c.a[j]
	}
	log := math.Log(c.tau[f])
	now := c.logTau(f, log, s)
	for range tauTries {
		to := log + c.step.tau[f]*c.rng.NormFloat64()
		if next := c.logTau(f, to, s); c.accept(next-now, &c.step.tau[f]) {
			log, now = to, next
		}
	}
	c.tau[f] = math.Exp(log)
}

// tauTries is how often a size is tried in each sweep: a try costs little.
const tauTries = 3

// logTau is the log density of log τ_f given the sum of its squared effects.
func (c *chain) logTau(f int, log, square float64) float64 {
	tau := math.Exp(log)
	return c.logPriorTau(f, tau) - 0.5*square/(tau*tau) - float64(c.l.Factors[f].Members)*log
}

// moveVialRatio moves ρ with means and vials integrated out.
func (c *chain) moveVialRatio() {
	f := c.l.vial
	for b := range c.blockOf {
		k := &c.blockOf[b]
		k.off = (k.y*c.inverse(k.group) - k.effects(c.a)) / k.w
	}
	logPost := func(rho float64) float64 {
		lp, shares := c.logPriorTau(f, rho), product{0, 1}
		g, sw, swy, swyy := -1, 0.0, 0.0, 0.0
		flush := func() {
			if g >= 0 {
				lp += -0.5*math.Log(sw) - 0.5*(swyy-swy*swy/sw) + c.roomAt(g, c.l.group[g].mean+c.sd(g)*swy/sw, c.sd(g)/math.Sqrt(sw))
			}
			sw, swy, swyy = 0, 0, 0
		}
		for b := range c.blockOf {
			k := &c.blockOf[b]
			if k.group != g {
				flush()
				g = k.group
			}
			omega := c.omegaOf(k, rho)
			r := k.off
			sw += omega
			swy += omega * r
			swyy += omega * r * r
			shares.factor(omega / k.w)
		}
		flush()
		return lp + 0.5*shares.value()
	}
	now := logPost(c.tau[f])
	for range 2 {
		to := c.tau[f] * math.Exp(c.step.tau[f]*c.rng.NormFloat64())
		if next := logPost(to); c.accept(next-now, &c.step.tau[f]) {
			c.tau[f], now = to, next
		}
	}
}

// logPriorTau is the log prior of log τ_f: half-t with 3 degrees of freedom.
func (c *chain) logPriorTau(f int, tau float64) float64 {
	r := tau / c.l.Factors[f].Scale
	return math.Log(r) - 2*math.Log1p(r*r/3)
}

// mostTogether is how many effects are drawn at once; more are drawn one by one.
const mostTogether = 64

// drawMeans draws means and vials given all else.
func (c *chain) drawMeans() {
	sum := c.scratch.groups[0]
	clear(sum)
	for b := range c.blockOf {
		k := &c.blockOf[b]
		sum[k.group] += k.omega / k.w * (k.y - c.sd(k.group)*k.effects(c.a))
	}
	for g := range c.m {
		gr := &c.l.group[g]
		sd := c.sd(g) / math.Sqrt(c.weight[g])
		at := gr.mean + sum[g]/c.weight[g]
		c.meanAt[g], c.meanSD[g] = at, sd
		if math.IsInf(gr.low, 0) && math.IsInf(gr.high, 0) {
			c.m[g] = at + sd*c.rng.NormFloat64()
		} else {
			c.m[g] = at + sd*truncated((gr.low-at)/sd, (gr.high-at)/sd, c.rng.Float64())
		}
	}
	if c.l.vial == None {
		return
	}
	rho := c.tau[c.l.vial]
	for b := range c.blockOf {
		k := &c.blockOf[b]
		if !k.vial {
			continue
		}
		s := c.sd(k.group)
		r := (k.y-k.w*(c.m[k.group]-c.l.group[k.group].mean))/s - k.effects(c.a)
		q := k.w + 1/(rho*rho)
		c.v[b] = r/q + c.rng.NormFloat64()/math.Sqrt(q)
	}
}
