package posterior

// blockSums sums the readings of every block; those of the weights alone only where one of them
// has changed.
func (c *chain) blockSums() {
	for b := range c.blockOf {
		k := &c.blockOf[b]
		k.y, k.yy = 0, 0
		clear(k.xy)
		if k.changed {
			k.w = 0
			clear(k.x)
			clear(k.xx)
		}
	}
	for i := range c.units {
		u := &c.units[i]
		k := &c.blockOf[u.block]
		w, z := c.w[i]*u.count, c.z[i]-c.l.group[u.group].mean
		wz := w * z
		k.y += wz
		k.yy += wz*z + c.w[i]*c.ss[i]
		for _, j := range u.local {
			k.xy[j] += wz
		}
		if !k.changed {
			continue
		}
		k.w += w
		n := len(k.columns)
		for at, j := range u.local {
			k.x[j] += w
			for _, h := range u.local[:at+1] {
				k.xx[j*n+h] += w
			}
		}
	}
	for b := range c.blockOf {
		c.blockOf[b].changed = false
	}
}

// omegaOf is the weight of a block's average when its vial is integrated out.
func (c *chain) omegaOf(k *block, rho float64) float64 {
	if !k.vial {
		return k.w
	}
	return k.w / (1 + rho*rho*k.w)
}

// effects is the sum of the effects on the block's readings, by weight; cross that of their
// products with the readings, square that of their squares.
func (k *block) effects(a []float64) float64 { return k.along(k.x, a) }
func (k *block) cross(a []float64) float64   { return k.along(k.xy, a) }

func (k *block) along(x, a []float64) float64 {
	s := 0.0
	for i, j := range k.columns {
		s += x[i] * a[j]
	}
	return s
}

func (k *block) square(a []float64) float64 {
	s, n := 0.0, len(k.columns)
	for i, j := range k.columns {
		row := 0.0
		for h, x := range k.xx[i*n : i*n+i] {
			row += x * a[k.columns[h]]
		}
		s += a[j] * (2*row + k.xx[i*n+i]*a[j])
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
	for _, q := range c.bigOf {
		clear(q)
	}
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
		zx, x, own, q := c.qzx[g], meanX[g], len(k.columns), c.products(g)
		for i, j := range k.columns {
			zx[j] += k.xy[i] - less*k.x[i]*k.y
			x[j] += share * k.x[i]
			to, lessX := q[j*n:j*n+n], less*k.x[i]
			for h, xx := range k.xx[i*own : i*own+i+1] {
				to[k.columns[h]] += xx - lessX*k.x[h]
			}
		}
	}
	for g := range c.qzx {
		y, x, q := meanY[g]/c.weight[g], meanX[g], c.products(g)
		c.qzz[g] -= meanY[g] * y
		for j := range n {
			c.qzx[g][j] -= x[j] * y
			by, row := x[j]/c.weight[g], q[j*n:j*n+n]
			for h := range x[:j+1] {
				row[h] -= by * x[h]
			}
		}
	}
	if !c.anyFlat {
		mirror(c.big, n)
	}
	for _, q := range c.bigOf {
		mirror(q, n)
	}
}

// products is where the squares and products of a group's effects are summed: with those of all groups where all go along with the spread.
func (c *chain) products(g int) []float64 {
	if c.anyFlat {
		return c.bigOf[g]
	}
	return c.big
}

// mirror copies the lower triangle to the upper one.
func mirror(q []float64, n int) {
	for j := range n {
		for h := range j {
			q[h*n+j] = q[j*n+h]
		}
	}
}
