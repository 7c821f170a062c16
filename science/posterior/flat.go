package posterior

import (
	"math"
	"slices"
)

// What follows is different where effects do not go along with the spread (Factor.Along): these stay on the scale of
// the readings while a spread moves.

// layFlat finds which effects are on the readings of each group, and has those that need not go along with the spread go the first way.
func (c *chain) layFlat() {
	c.way, c.present = make([]int, len(c.tau)), make([][]int, c.l.Groups)
	for _, u := range c.units {
		for _, j := range u.member {
			if at, there := slices.BinarySearch(c.present[u.group], j); !there {
				c.present[u.group] = slices.Insert(c.present[u.group], at, j)
			}
		}
	}
	c.height = table(c.l.Groups, c.columns)
	for f, fac := range c.l.Factors {
		if fac.Along != nil {
			c.setWay(f, 0)
		}
	}
}

// setWay has a factor go another way.
func (c *chain) setWay(f, way int) {
	c.way[f] = way
	along := c.l.Factors[f].Along[way]
	for j := c.first[f]; j < c.first[f]+c.l.Factors[f].Members; j++ {
		c.flat[j] = along != nil
		for g, h := range along {
			c.height[g][j] = h
		}
	}
}

// isFlat says whether a factor's effects go along with something else than the spread, now.
func (c *chain) isFlat(f int) bool {
	ways := c.l.Factors[f].Along
	return ways != nil && ways[c.way[f]] != nil
}

// together sums the products of all groups with the spreads as they stand.
func (c *chain) together() {
	if !c.anyFlat {
		return
	}
	n := c.columns
	clear(c.big)
	for g, q := range c.bigOf {
		inv, height := c.inverse(g), c.height[g]
		for _, j := range c.present[g] {
			by := 1.0
			if c.flat[j] {
				by = inv * height[j]
			}
			for _, h := range c.present[g] {
				x := q[j*n+h] * by
				if c.flat[h] {
					x *= inv * height[h]
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
	for _, j := range c.present[g] {
		if b[j] = a[j] * s; c.flat[j] {
			b[j] = a[j] * c.height[g][j]
		}
	}
	return b
}

// leaning is A·ΣωX of a group, and B·ΣωX.
func (c *chain) leaning(g int, a []float64) (lean, off float64) {
	if !c.anyFlat {
		return dot(a, c.sumX[g]), 0
	}
	for _, j := range c.present[g] {
		if x := c.sumX[g][j] * a[j]; c.flat[j] {
			off += x * c.height[g][j]
		} else {
			lean += x
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
	for _, j := range c.present[g] {
		v := a[j]
		if !c.flat[j] {
			h.inner += v * c.qzx[g][j]
			continue
		}
		v *= c.height[g][j]
		h.square -= 2 * v * c.qzx[g][j]
		for _, i := range c.present[g] {
			if w := v * a[i] * q[j*n+i]; c.flat[i] {
				h.square += w * c.height[g][i]
			} else {
				h.inner -= w
			}
		}
	}
	return h
}

// gainOfRatios is what the priors of all ratios to the spread gain when these are multiplied; multiply does that, with the effects.
func (c *chain) gainOfRatios(scale float64) (gain float64) {
	for f, tau := range c.tau {
		if !c.isFlat(f) {
			gain += c.logPriorTau(f, tau*scale) - c.logPriorTau(f, tau)
		}
	}
	return gain
}

func (c *chain) multiply(scale float64) {
	for f := range c.tau {
		if !c.isFlat(f) {
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

// before is where a factor stood before drawWay, and the logarithm of what the bounds of the means left of the effects there beyond what they leave now.
type before struct {
	drawn       bool
	factor, way int
	room        float64
}

// drawWay draws what the effects of a factor that does not go along with the spread go along with, one of them a turn, effects, means and vials
// integrated out. Bounds of means are left to who takes the effects.
func (c *chain) drawWay() (b before) {
	if !c.ways {
		return b
	}
	c.ways, b.drawn = false, true
	var flat []int
	for f, fac := range c.l.Factors {
		if fac.Along != nil {
			flat = append(flat, f)
		}
	}
	b.factor = flat[c.rng.IntN(len(flat))]
	b.way = c.way[b.factor]
	for _, g := range c.bounded {
		b.room += c.room(g, c.sd(g), c.leanOver(g, c.a), 0)
	}
	logs := c.ofWays(b.factor)
	way := b.way
	if slices.Max(logs) > math.Inf(-1) { // else numbers carry none of them
		way = c.choose(logs)
	}
	c.setWay(b.factor, way)
	for _, g := range c.bounded {
		b.room -= c.room(g, c.sd(g), c.leanOver(g, c.a), 0)
	}
	return b
}

// ofWays are the logarithms of what the readings say for each way of a factor, effects, means and vials integrated out: e^(½·|L⁻¹·pull|²)/|L|,
// L·Lᵀ the effects' precision. It leaves the last one standing.
func (c *chain) ofWays(f int) []float64 {
	logs := make([]float64, len(c.l.Factors[f].Along))
	for way := range logs {
		c.setWay(f, way)
		right, q, ok := c.precision()
		if !ok {
			logs[way] = math.Inf(-1)
			continue
		}
		solveLower(q, c.columns, right)
		logs[way] = 0.5*dot(right, right) + c.l.Factors[f].logPrior(way)
		for j := range right {
			logs[way] -= math.Log(q[j*c.columns+j])
		}
		if math.IsNaN(logs[way]) {
			logs[way] = math.Inf(-1)
		}
	}
	return logs
}
