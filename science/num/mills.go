package num

import "math"

// The Mills ratio of the normal distribution,
//
//	R(x) = (1 − Φ(x)) / φ(x),  x ≥ 0,
//
// falls smoothly from √(π/2) towards 1/x, so the tails of Φ can be taken in
// log space without cancelling. Up to millsEnd it comes from a table of Taylor
// polynomials of degree 7 about evenly spaced points (error below 1e-16
// relative: the first term left out is 1.2e-17 at x = 0 and smaller beyond);
// from there on from its asymptotic series in 1/x².
const (
	millsPerUnit = 32
	millsEnd     = 12
)

var millsTable = makeMillsTable()

// mills returns R(x) for x ≥ 0.
func mills(x float64) float64 {
	if !(x < millsEnd) { // NaN too
		return millsFar(x)
	}
	i := int(x*millsPerUnit + 0.5)
	h := x - float64(i)*(1.0/millsPerUnit)
	c := &millsTable[i]
	h2 := h * h
	return ((c[0] + c[1]*h) + (c[2]+c[3]*h)*h2) + ((c[4]+c[5]*h)+(c[6]+c[7]*h)*h2)*(h2*h2)
}

// millsFar is the asymptotic series 1/x · Σ (−1)^k (2k−1)!! / x^2k
// (Abramowitz & Stegun 26.2.12). The first term left out is below 1e-17: 20
// terms from x = 12 on, 10 from x = 20 on.
func millsFar(x float64) float64 {
	t := 1 / (x * x) // 0 for huge x: the series is then its first term
	s, k := 1.0, 9
	if x < 20 {
		k = 19
	}
	for ; k > 0; k-- {
		s = 1 - float64(2*k-1)*t*s
	}
	return s / x
}

// makeMillsTable fills in R⁽ⁿ⁾(x₀)/n! at each point. The derivatives obey
// (n+1)·c[n+1] = x₀·c[n] + c[n−1] with c[1] = x₀·c[0] − 1.
func makeMillsTable() (table [millsEnd*millsPerUnit + 1][8]float64) {
	for i := range table {
		x := float64(i) / millsPerUnit
		if x < 1.5 {
			table[i] = millsForward(x)
		} else {
			table[i] = millsBackward(x)
		}
	}
	return table
}

func millsForward(x float64) (c [8]float64) {
	c[0] = math.Sqrt(math.Pi/2) * math.Exp(x*x/2) * math.Erfc(x/math.Sqrt2)
	c[1] = x*c[0] - 1
	for n := 1; n < 7; n++ {
		c[n+1] = (x*c[n] + c[n-1]) / float64(n+1)
	}
	return c
}

// millsBackward runs the recurrence downwards on d[n] = |c[n]|, where every
// term is positive and rounding dies out (Miller's way); the scale follows
// from x₀·d[0] + d[1] = 1.
func millsBackward(x float64) (c [8]float64) {
	var d [8]float64
	above, here := 0.0, 1e-300 // d[n+1], d[n]
	for n := 200; n > 0; n-- {
		above, here = here, float64(n+1)*above+x*here // d[n−1] from d[n+1], d[n]
		if n-1 < len(d) {
			d[n-1] = here
		}
		if here > 1e250 {
			above, here = above*1e-300, here*1e-300
		}
	}
	scale := 1 / (x*d[0] + d[1])
	for n := range c {
		c[n] = d[n] * scale
		if n%2 == 1 {
			c[n] = -c[n]
		}
	}
	return c
}
