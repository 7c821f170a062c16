package num

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

const (
	invSqrt2Pi = 0.398942280401432677939946059934381868
	lnSqrt2Pi  = 0.918938533204672741780329736405617640
)

// NormalPDF is the standard normal density φ(x).
func NormalPDF(x float64) float64 { return invSqrt2Pi * expHalfSquare(x) }

// LogNormalPDF is log φ(x) = −x²/2 − log √(2π).
func LogNormalPDF(x float64) float64 { return -0.5*x*x - lnSqrt2Pi }

// expHalfSquare is exp(−x²/2); the rounding of x² is made good, since far out
// it would cost digits in proportion to x².
func expHalfSquare(x float64) float64 {
	s := x * x
	if !(s < 1500) {
		return math.Exp(-0.5 * s)
	}
	return math.Exp(-0.5*s) * (1 - 0.5*math.FMA(x, x, -s))
}

// Phi is the standard normal distribution function Φ(x) = P(Z ≤ x), to about
// 1e-15 relative in both tails.
func Phi(x float64) float64 {
	if x > 0 {
		return 1 - Phi(-x)
	}
	if math.IsInf(x, -1) {
		return 0
	}
	return invSqrt2Pi * expHalfSquare(x) * mills(-x)
}

// Z95 is how many standard deviations on either side hold the middle 95 % of a normal distribution: PhiInv(0.975).
const Z95 = 1.959963984540054

// PhiInv is the quantile of the standard normal distribution: the x with
// Φ(x) = p. It is −∞ at 0, +∞ at 1 and NaN outside 0 … 1. For an upper tail q
// take −PhiInv(q), which keeps the digits that 1 − q would lose.
func PhiInv(p float64) float64 {
	if !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	return mathext.NormalQuantile(p)
}

// LogPhi is log Φ(x), to about 1e-15 relative for every x, also where Φ(x)
// itself underflows (below −38) or is 1 but for a tail.
func LogPhi(x float64) float64 {
	switch {
	case x > 0:
		return math.Log1p(-Phi(-x))
	case math.IsInf(x, -1):
		return x
	}
	return LogNormalPDF(x) + math.Log(mills(-x))
}

// LogPhiDiff is log(Φ(b) − Φ(a)), the log probability that a standard normal
// variable lies between a and b. Either end may be infinite. It is −∞ where
// a = b and NaN where a > b.
//
// Three ways, by where the interval lies; each keeps Φ(b) − Φ(a) to a few
// 1e-15 relative, however far out or narrow it is:
//
//	narrow (b−a ≤ ¼ and |m|·(b−a) ≤ ½): φ at the middle m times the width times
//	    a series in Hermite polynomials of m;
//	on one side of 0: log φ(b) + log(R(−b) − φ(a)/φ(b)·R(−a)), R the Mills ratio;
//	across 0: log1p of minus both tails.
//
// Assumes finite a and b lie below about 1e150 in size. Tested against 400-digit
// arithmetic (testdata/make_exact.py).
func LogPhiDiff(a, b float64) float64 {
	if a+b > 0 {
		a, b = -b, -a // now the interval leans to the left: b ≤ −a
	}
	w := b - a
	if !(w > 0) {
		if a == b {
			return math.Inf(-1)
		}
		if math.IsInf(a, -1) && math.IsInf(b, 1) {
			return 0
		}
		return math.NaN()
	}
	m := 0.5 * (a + b)
	if w <= 0.25 && -m*w <= 0.5 {
		return logNarrow(m, w)
	}
	if a < -1e150 {
		if b < -1e150 {
			return LogPhi(b)
		}
		a = -1e150 // far enough to be nothing, finite enough to be squared
	}
	if b <= 0 {
		// a² − b² = (a−b)(a+b) without cancelling
		tail := mills(-b) - math.Exp(w*m)*mills(-a)
		return -0.5*b*b - lnSqrt2Pi + math.Log(tail)
	}
	q := math.Exp(-0.5*b*b)*mills(b) + math.Exp(-0.5*a*a)*mills(-a)
	return math.Log1p(-invSqrt2Pi * q)
}

// logNarrow integrates φ over m ± w/2:
//
//	φ(m)·w·Σ h^2k He_2k(m)/(2k+1)!,  h = w/2,
//
// written in u = (mh)², v = h². The first term left out is below 2e-16 of the
// sum within the bounds that LogPhiDiff sets.
func logNarrow(m, w float64) float64 {
	h := 0.5 * w
	u, v := m*h*m*h, h*h
	s1 := u - v
	s2 := u*(u-6*v) + 3*v*v
	s3 := u*(u*(u-15*v)+45*v*v) - 15*v*v*v
	s4 := u*(u*(u*(u-28*v)+210*v*v)-420*v*v*v) + 105*v*v*v*v
	s5 := u*(u*(u*(u*(u-45*v)+630*v*v)-3150*v*v*v)+4725*v*v*v*v) - 945*v*v*v*v*v
	s := s1*(1.0/6) + s2*(1.0/120) + s3*(1.0/5040) + s4*(1.0/362880) + s5*(1.0/39916800)
	return -0.5*m*m - lnSqrt2Pi + math.Log(w*(1+s))
}
