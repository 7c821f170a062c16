package posterior

import (
	"math"
	"sort"

	"knownwater/science/num"
)

// drawLatent draws, for every reading, the part of its scatter and the value
// inside its interval.
func (c *chain) drawLatent() {
	sc := scatters()[c.at.kind]
	one := len(sc.weight) == 1
	for i := range c.units {
		u := &c.units[i]
		if one && c.exact[i] {
			c.weigh(i, 1)
			continue
		}
		s := c.sd(u.group)
		mu := c.m[u.group] + s*c.sum[i] + c.off[i]
		a, b := (u.seen[c.at.share][0]-mu)/s, (u.seen[c.at.share][1]-mu)/s
		part := 1.0
		if !one {
			if c.exact[i] {
				a = (c.z[i] - mu) / s
				b = a
			}
			part = c.drawPart(sc, a, b)
		}
		c.weigh(i, 1/(part*part))
		if c.exact[i] {
			continue
		}
		if u.count == 1 {
			c.z[i] = mu + s*part*truncated(a/part, b/part, c.rng.Float64())
			continue
		}
		c.z[i], c.ss[i] = c.several(u.count, a, b)
		c.z[i] = mu + s*c.z[i]
		c.ss[i] *= s * s
	}
}

// weigh gives a reading its weight.
func (c *chain) weigh(i int, w float64) {
	if c.w[i] != w {
		c.w[i] = w
		c.blockOf[c.units[i].block].changed = true
	}
}

// drawPart draws the normal part that a reading between a and b came from; its
// standard deviation.
func (c *chain) drawPart(sc *scatter, a, b float64) float64 {
	chance := func(j int) float64 {
		sd := sc.component[j]
		if a == b {
			return sc.weight[j] / sd * num.NormalPDF(a/sd)
		}
		return sc.weight[j] * max(0, num.QuickPhi(b/sd)-num.QuickPhi(a/sd))
	}
	q := c.rng.Float64()
	if all := sc.between(a, b); all > 0.01 { // most come from the first ones: the others need not be looked at
		q *= all
		for j := range sc.weight {
			if q -= chance(j); q <= 0 {
				return sc.component[j]
			}
		}
		return sc.component[0]
	}
	var p [8]float64
	total := 0.0
	for j := range sc.weight {
		p[j] = chance(j)
		total += p[j]
	}
	if total < 1e-4 { // far out: by logarithms
		total = c.farParts(sc, a, b, p[:])
	}
	q *= total
	for j := range sc.weight {
		if q -= p[j]; q <= 0 {
			return sc.component[j]
		}
	}
	return sc.component[0]
}

// between is the chance of what lies between a and b; the density where they are one.
func (s *scatter) between(a, b float64) float64 {
	if a == b {
		return num.Exp(s.density(a))
	}
	return s.below(b) - s.below(a)
}

// farParts are the parts' weights where a difference of chances has no digits left.
func (c *chain) farParts(sc *scatter, a, b float64, p []float64) (total float64) {
	normal, top := scatters()[Normal], math.Inf(-1)
	for j, w := range sc.weight {
		sd := sc.component[j]
		if a == b {
			p[j] = num.Log(w/sd) + normal.density(a/sd)
		} else {
			p[j] = num.Log(w) + normal.inside(a/sd, b/sd)
		}
		top = math.Max(top, p[j])
	}
	for j := range sc.weight {
		p[j] = num.Exp(p[j] - top)
		total += p[j]
	}
	return total
}

// several are average and sum of squares about it of n draws between a and b:
// drawn one by one up to a dozen, beyond that from their normal limit.
func (c *chain) several(n, a, b float64) (mean, ss float64) {
	if n <= 12 {
		k, sum, square := int(n), 0.0, 0.0
		for range k {
			z := truncated(a, b, c.rng.Float64())
			sum += z
			square += z * z
		}
		return sum / n, math.Max(0, square-sum*sum/n)
	}
	m1, m2, m4 := moments(a, b)
	mean = m1 + math.Sqrt(m2/n)*c.rng.NormFloat64()
	ss = (n-1)*m2 + math.Sqrt(math.Max(0, n*(m4-m2*m2)))*c.rng.NormFloat64()
	return mean, math.Max(0, ss)
}

// moments are mean, variance and fourth central moment of a standard normal between a and b,
// by E xᵏ = (k − 1)·E xᵏ⁻² + (aᵏ⁻¹φ(a) − bᵏ⁻¹φ(b))/P; where b is near a those of an even
// distribution, and far out, where P has no digits left, of 16 even quantiles.
func moments(a, b float64) (mean, variance, fourth float64) {
	if w := b - a; w < 0.05 {
		return (a + b) / 2 * (1 - w*w/12), w * w / 12, w * w * w * w / 80
	}
	p := num.Phi(b) - num.Phi(a)
	if p < 1e-5 {
		const q = 16
		for i := range q {
			mean += truncated(a, b, (float64(i)+0.5)/q) / q
		}
		for i := range q {
			d := truncated(a, b, (float64(i)+0.5)/q) - mean
			variance += d * d / q
			fourth += d * d * d * d / q
		}
		return mean, variance, fourth
	}
	e := [5]float64{1}
	pa, pb := num.NormalPDF(a)/p, num.NormalPDF(b)/p
	a, b = closed(a), closed(b)
	for k := 1; k <= 4; k++ {
		e[k] = pa - pb
		if k > 1 {
			e[k] += float64(k-1) * e[k-2]
		}
		pa, pb = pa*a, pb*b
	}
	m, s := e[1], e[1]*e[1]
	return m, e[2] - s, e[4] - 4*m*e[3] + 6*s*e[2] - 3*s*s
}

// closed is an end, or 0 for an open one, which has no density whatever it is multiplied by.
func closed(x float64) float64 {
	if math.IsInf(x, 0) {
		return 0
	}
	return x
}

// choose draws an index by its log weight.
func (c *chain) choose(logs []float64) int {
	top := math.Inf(-1)
	for _, v := range logs {
		if v > top {
			top = v
		}
	}
	total := 0.0
	for i, v := range logs {
		total += fall(top - v)
		logs[i] = total
	}
	p := c.rng.Float64() * total
	return min(sort.SearchFloat64s(logs, p), len(logs)-1)
}
