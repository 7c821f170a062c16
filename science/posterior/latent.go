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
		if one && c.exact[i] {
			c.w[i] = 1
			continue
		}
		u := &c.units[i]
		s := c.sd(u.group)
		mu := c.m[u.group] + s*c.shared(i)
		a, b := (u.seen[c.at.share][0]-mu)/s, (u.seen[c.at.share][1]-mu)/s
		part := 1.0
		if !one {
			if c.exact[i] {
				a = (c.z[i] - mu) / s
				b = a
			}
			part = c.drawPart(sc, a, b)
		}
		c.w[i] = 1 / (part * part)
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

// drawPart draws the normal part that a reading between a and b came from; its
// standard deviation.
func (c *chain) drawPart(sc *scatter, a, b float64) float64 {
	var p [8]float64
	total := 0.0
	for j, w := range sc.weight {
		sd := sc.component[j]
		if a == b {
			p[j] = w / sd * num.NormalPDF(a/sd)
		} else {
			p[j] = w * max(0, Phi(b/sd)-Phi(a/sd))
		}
		total += p[j]
	}
	if total < 1e-4 { // far out: by logarithms
		total = c.farParts(sc, a, b, p[:])
	}
	q := c.rng.Float64() * total
	for j := range sc.weight {
		if q -= p[j]; q <= 0 {
			return sc.component[j]
		}
	}
	return sc.component[0]
}

// farParts are the parts' weights where a difference of chances has no digits left.
func (c *chain) farParts(sc *scatter, a, b float64, p []float64) (total float64) {
	normal, top := scatters()[Normal], math.Inf(-1)
	for j, w := range sc.weight {
		sd := sc.component[j]
		if a == b {
			p[j] = math.Log(w/sd) + normal.density(a/sd)
		} else {
			p[j] = math.Log(w) + normal.inside(a/sd, b/sd)
		}
		top = math.Max(top, p[j])
	}
	for j := range sc.weight {
		p[j] = math.Exp(p[j] - top)
		total += p[j]
	}
	return total
}

// several are average and sum of squares about it of n draws between a and b:
// drawn one by one up to a dozen, beyond that from their normal limit, the
// moments by 16 even quantiles.
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
	const q = 16
	var z [q]float64
	m1, m2, m4 := 0.0, 0.0, 0.0
	for i := range z {
		z[i] = truncated(a, b, (float64(i)+0.5)/q)
		m1 += z[i] / q
	}
	for _, x := range z {
		d := (x - m1) * (x - m1)
		m2 += d / q
		m4 += d * d / q
	}
	mean = m1 + math.Sqrt(m2/n)*c.rng.NormFloat64()
	ss = n*m2 + math.Sqrt(math.Max(0, n*(m4-m2*m2)))*c.rng.NormFloat64()
	return mean, math.Max(0, ss)
}

// choose draws an index by its log weight.
func (c *chain) choose(logs []float64) int {
	top := math.Inf(-1)
	for _, v := range logs {
		top = max(top, v)
	}
	total := 0.0
	for i, v := range logs {
		if v > top-30 {
			total += math.Exp(v - top)
		}
		logs[i] = total
	}
	p := c.rng.Float64() * total
	return min(sort.SearchFloat64s(logs, p), len(logs)-1)
}
