package posterior

import "math"

// blockSums sums the readings of every block.
func (c *chain) blockSums() {
	for b := range c.blockOf {
		k := &c.blockOf[b]
		k.w, k.y, k.yy = 0, 0, 0
		for _, j := range k.columns {
			k.x[j], k.xy[j] = 0, 0
			for _, h := range k.columns {
				k.xx[j*c.columns+h] = 0
			}
		}
	}
	for i := range c.units {
		u := &c.units[i]
		k := &c.blockOf[u.block]
		w, z := c.w[i]*u.count, c.z[i]-c.l.group[u.group].mean
		k.w += w
		k.y += w * z
		k.yy += w*z*z + c.w[i]*c.ss[i]
		for _, j := range u.member {
			k.x[j] += w
			k.xy[j] += w * z
			for _, h := range u.member {
				k.xx[j*c.columns+h] += w
			}
		}
	}
}

// omegaOf is the weight of a block's average when its vial is integrated out.
func (c *chain) omegaOf(k *block, rho float64) float64 {
	if !k.vial {
		return k.w
	}
	return k.w / (1 + rho*rho*k.w)
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
				lp += -0.5*math.Log(sw) - 0.5*(swyy-swy*swy/sw)
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

// effects is the sum of the effects on the block's readings, by weight.
func (k *block) effects(a []float64) float64 {
	s := 0.0
	for _, j := range k.columns {
		s += k.x[j] * a[j]
	}
	return s
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// groupSums are the quadratic forms of each group with mean and vials
// integrated out: Σ_b [Σw(y−ȳ)² + ω(ȳ−m̂)²], for readings, effects and both.
func (c *chain) groupSums() {
	n, rho := c.columns, 0.0
	if c.l.vial != None {
		rho = c.tau[c.l.vial]
	}
	clear(c.big)
	clear(c.qzz)
	clear(c.weight)
	meanX, meanY := c.scratch.meanX, c.scratch.groups[0]
	clear(meanY)
	for g := range c.qzx {
		clear(c.qzx[g])
		clear(meanX[g])
	}
	for b := range c.blockOf {
		k := &c.blockOf[b]
		g := k.group
		k.omega = c.omegaOf(k, rho)
		less := 1/k.w - k.omega/(k.w*k.w) // of the squared sum that the vial takes up
		share := k.omega / k.w
		c.weight[g] += k.omega
		c.qzz[g] += k.yy - less*k.y*k.y
		meanY[g] += share * k.y
		for _, j := range k.columns {
			c.qzx[g][j] += k.xy[j] - less*k.x[j]*k.y
			meanX[g][j] += share * k.x[j]
			for _, h := range k.columns {
				c.big[j*n+h] += k.xx[j*n+h] - less*k.x[j]*k.x[h]
			}
		}
	}
	for g := range c.qzx {
		w := c.weight[g]
		c.qzz[g] -= meanY[g] * meanY[g] / w
		for j := range n {
			c.qzx[g][j] -= meanX[g][j] * meanY[g] / w
			for h := range n {
				c.big[j*n+h] -= meanX[g][j] * meanX[g][h] / w
			}
		}
	}
}

// drawEffects draws all crossed effects together, means and vials integrated out.
func (c *chain) drawEffects() {
	n := c.columns
	if n == 0 {
		return
	}
	right := c.scratch.right
	clear(right)
	for g := range c.qzx {
		inv := c.inverse(g)
		for j := range n {
			right[j] += inv * c.qzx[g][j]
		}
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
		copy(c.a, right)
	} else {
		c.oneByOne(right)
	}
	// the sizes: τ and its effects together, which the readings hold loosely
	for f, fac := range c.l.Factors {
		if !fac.Nested {
			c.scale(f, fac.Members)
		}
	}
}

// mostTogether is how many effects are drawn at once; more are drawn one by one.
const mostTogether = 64

func (c *chain) oneByOne(right []float64) {
	n := c.columns
	for f, fac := range c.l.Factors {
		if fac.Nested {
			continue
		}
		for j := range fac.Members {
			at := c.first[f] + j
			row := c.big[at*n : at*n+n]
			b := right[at] - dot(row, c.a) + row[at]*c.a[at]
			q := row[at] + 1/(c.tau[f]*c.tau[f])
			c.a[at] = b/q + c.rng.NormFloat64()/math.Sqrt(q)
		}
	}
}

// scale multiplies τ_f and its effects by one factor: the standardised effects
// stay, so that the readings and the prior of τ decide.
func (c *chain) scale(f, members int) {
	n := c.columns
	linear, square := 0.0, 0.0
	for j := c.first[f]; j < c.first[f]+members; j++ {
		others := 0.0
		for h := range n {
			if h < c.first[f] || h >= c.first[f]+members {
				others += c.big[j*n+h] * c.a[h]
			} else {
				square += c.big[j*n+h] * c.a[j] * c.a[h]
			}
		}
		b := -others
		for g := range c.qzx {
			b += c.inverse(g) * c.qzx[g][j]
		}
		linear += b * c.a[j]
	}
	by := math.Exp(c.step.scale[f] * c.rng.NormFloat64())
	gain := linear*(by-1) - 0.5*square*(by*by-1) + c.logPriorTau(f, c.tau[f]*by) - c.logPriorTau(f, c.tau[f])
	if c.accept(gain, &c.step.scale[f]) {
		c.tau[f] *= by
		for j := c.first[f]; j < c.first[f]+members; j++ {
			c.a[j] *= by
		}
	}
}

// moveTau moves τ with its effects held still.
func (c *chain) moveTau(f int) {
	members := c.l.Factors[f].Members
	s := 0.0
	for j := c.first[f]; j < c.first[f]+members; j++ {
		s += c.a[j] * c.a[j]
	}
	lp := func(tau float64) float64 {
		return c.logPriorTau(f, tau) - 0.5*s/(tau*tau) - float64(members)*math.Log(tau)
	}
	to := c.tau[f] * math.Exp(c.step.tau[f]*c.rng.NormFloat64())
	if c.accept(lp(to)-lp(c.tau[f]), &c.step.tau[f]) {
		c.tau[f] = to
	}
}

// cholesky factors q in place into its lower triangle.
func cholesky(q []float64, n int) bool {
	for i := range n {
		for j := range i + 1 {
			s := q[i*n+j] - dot(q[i*n:i*n+j], q[j*n:j*n+j])
			if i == j {
				if !(s > 0) {
					return false
				}
				q[i*n+i] = math.Sqrt(s)
			} else {
				q[i*n+j] = s / q[j*n+j]
			}
		}
	}
	return true
}

func solveLower(q []float64, n int, b []float64) {
	for i := range n {
		b[i] = (b[i] - dot(q[i*n:i*n+i], b[:i])) / q[i*n+i]
	}
}

func solveUpper(q []float64, n int, b []float64) {
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			b[i] -= q[k*n+i] * b[k]
		}
		b[i] /= q[i*n+i]
	}
}
