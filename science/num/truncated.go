package num

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// truncated are the moments of a standard normal Z known to lie between a and b,
// in the combinations that scores and informations of a censored likelihood
// are made of.
type truncated struct {
	logP   float64 // log P(a < Z < b); log φ(a) where a = b
	m1, m2 float64 // E Z, E Z²
	v      float64 // Var Z
	c      float64 // Cov(Z, Z²)
	q      float64 // Var Z²
}

var legendreX, legendreW = func() (x, w [8]float64) {
	quad.Legendre{}.FixedLocations(x[:], w[:], -1, 1)
	return x, w
}()

// truncate takes wide intervals by their closed forms in φ and Φ, narrow ones,
// where those cancel, by eight-point Gauss–Legendre quadrature about the middle.
func truncate(a, b float64) truncated {
	if a == b {
		return truncated{logP: LogNormalPDF(a), m1: a, m2: a * a}
	}
	if m, w := 0.5*(a+b), b-a; w <= 0.25 && math.Abs(m)*w <= 0.5 {
		return truncateNarrow(m, w)
	}
	t := truncated{logP: LogPhiDiff(a, b)}
	pa, pb := share(a, t.logP), share(b, t.logP)
	power := func(k int) float64 { // (b^k φ(b) − a^k φ(a))/P
		return times(b, k, pb) - times(a, k, pa)
	}
	t.m1 = -power(0)
	t.m2 = 1 - power(1)
	t.v = max(0, t.m2-t.m1*t.m1)
	t.c = 2*t.m1 - power(2) - t.m1*t.m2
	t.q = max(0, 3*t.m2-power(3)-t.m2*t.m2)
	return t
}

// share is φ(z)/P, 0 at infinity.
func share(z, logP float64) float64 {
	if math.IsInf(z, 0) {
		return 0
	}
	return math.Exp(LogNormalPDF(z) - logP)
}

// times is z^k·p, 0 where p is, also at infinite z.
func times(z float64, k int, p float64) float64 {
	if p == 0 {
		return 0
	}
	for range k {
		p *= z
	}
	return p
}

func truncateNarrow(m, w float64) truncated {
	h := 0.5 * w
	var s [8]float64
	var mass, s1, s2 float64
	var weight [8]float64
	for i := range s {
		s[i] = h * legendreX[i]
		weight[i] = legendreW[i] * math.Exp(-s[i]*(m+0.5*s[i]))
		mass += weight[i]
		s1 += weight[i] * s[i]
		s2 += weight[i] * s[i] * s[i]
	}
	s1, s2 = s1/mass, s2/mass
	var v, c, q float64
	for i := range s {
		d1, d2 := s[i]-s1, s[i]*s[i]-s2
		v += weight[i] * d1 * d1
		c += weight[i] * d1 * d2
		q += weight[i] * d2 * d2
	}
	v, c, q = v/mass, c/mass, q/mass
	return truncated{ // Z = m + s
		logP: logNarrow(m, w),
		m1:   m + s1,
		m2:   m*m + 2*m*s1 + s2,
		v:    v,
		c:    2*m*v + c,
		q:    4*m*m*v + 4*m*c + q,
	}
}

// Truncated is a standard normal Z known to lie between two ends: the logarithm of the
// chance of that (of the density where they are one), its mean and variance there.
type Truncated struct{ LogP, Mean, Var float64 }

// Between is Z between a and b, a ≤ b, either of them infinite.
func Between(a, b float64) Truncated {
	t := truncate(a, b)
	return Truncated{t.logP, t.m1, t.v}
}
