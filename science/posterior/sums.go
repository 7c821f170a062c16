package posterior

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

// effects is the sum of the effects on the block's readings, by weight.
func (k *block) effects(a []float64) float64 {
	s := 0.0
	for _, j := range k.columns {
		s += k.x[j] * a[j]
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
	meanX, meanY := c.sumX, c.sumY
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
