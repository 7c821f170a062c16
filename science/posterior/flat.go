package posterior

// What follows is different where effects do not go along with the spread (Factor.Along): these stay on the scale of
// the readings while a spread moves.

// together sums the products of all groups with the spreads as they stand.
func (c *chain) together() {
	if !c.anyFlat {
		return
	}
	n := c.columns
	clear(c.big)
	for g, q := range c.bigOf {
		inv := c.inverse(g)
		for j := range n {
			for h := range n {
				x := q[j*n+h]
				if c.flat[j] {
					x *= inv
				}
				if c.flat[h] {
					x *= inv
				}
				c.big[j*n+h] += x
			}
		}
	}
}

// effectsOn is the sum of the effects on a block's readings, by weight, on their scale; effectsOver ÷ s.
func (c *chain) effectsOn(k *block) float64 {
	if !c.anyFlat {
		return c.sd(k.group) * k.effects(c.a)
	}
	return k.effects(c.onScale(k.group, c.a))
}

func (c *chain) effectsOver(k *block) float64 {
	if !c.anyFlat {
		return k.effects(c.a)
	}
	return c.effectsOn(k) * c.inverse(k.group)
}

// onScale are effects as a group's readings have them.
func (c *chain) onScale(g int, a []float64) []float64 {
	b, s := c.scratch.columns[2], c.sd(g)
	for j, v := range a {
		if b[j] = v; !c.flat[j] {
			b[j] *= s
		}
	}
	return b
}

// leaning is A·ΣωX of a group, and B·ΣωX.
func (c *chain) leaning(g int, a []float64) (lean, off float64) {
	if !c.anyFlat {
		return dot(a, c.sumX[g]), 0
	}
	for j, x := range c.sumX[g] {
		if c.flat[j] {
			off += x * a[j]
		} else {
			lean += x * a[j]
		}
	}
	return lean, off
}

// given is what a group's readings say of its spread s, given effects: −½·square/s² + inner/s; and how
// these lean on its mean, where that has a bound.
type given struct{ square, inner, lean, off float64 }

func (c *chain) givenOf(g int, a []float64) given {
	h := given{square: c.qzz[g]}
	h.lean, h.off = c.lean(g, a)
	if !c.anyFlat {
		h.inner = dot(a, c.qzx[g])
		return h
	}
	n, q := c.columns, c.bigOf[g]
	for j, v := range a {
		if !c.flat[j] {
			h.inner += v * c.qzx[g][j]
			continue
		}
		h.square -= 2 * v * c.qzx[g][j]
		for i, w := range a {
			if c.flat[i] {
				h.square += v * w * q[j*n+i]
			} else {
				h.inner -= v * w * q[j*n+i]
			}
		}
	}
	return h
}

// gainOfRatios is what the priors of all ratios to the spread gain when these are multiplied; multiply does that, with the effects.
func (c *chain) gainOfRatios(scale float64) (gain float64) {
	for f, tau := range c.tau {
		if c.l.Factors[f].Along == nil {
			gain += c.logPriorTau(f, tau*scale) - c.logPriorTau(f, tau)
		}
	}
	return gain
}

func (c *chain) multiply(scale float64) {
	for f := range c.tau {
		if c.l.Factors[f].Along == nil {
			c.tau[f] *= scale
		}
	}
	for j := range c.a {
		if !c.flat[j] {
			c.a[j] *= scale
		}
	}
	for b := range c.v {
		c.v[b] *= scale
	}
}
