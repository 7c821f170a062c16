package num

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// manyDF is where the incomplete beta function has lost more digits (six are
// left) than the limit of infinitely many degrees of freedom is off.
const manyDF = 1e9

// FSurvival is P(F > f), the p-value of an F test. Degrees of freedom above 1e9
// count as infinite (d1·F is then chi-square).
func FSurvival(f, d1, d2 float64) float64 {
	switch {
	case math.IsNaN(f) || !(d1 >= leastDF) || !(d2 >= leastDF):
		return math.NaN()
	case f <= 0:
		return 1
	case math.IsInf(f, 1):
		return 0
	case d1 > manyDF && d2 > manyDF:
		return math.NaN() // all of F lies at 1
	case d2 > manyDF:
		return ChiSquareSurvival(f*d1, d1)
	case d1 > manyDF:
		return ChiSquareCDF(d2/f, d2)
	}
	r := d1 / d2 * f
	p := 0.0
	if r < 1 {
		p = 1 - mathext.RegIncBeta(d1/2, d2/2, r/(1+r))
	} else {
		p = mathext.RegIncBeta(d2/2, d1/2, 1/(1+r))
	}
	return min(1, max(0, p))
}

// FQuantile is the f with P(F ≤ f) = p. It solves the logarithm of the
// nearer tail in log f; d1 above 1e9 gives NaN. For an upper tail q use 1/FQuantile(q, d2, d1), which
// keeps the digits that 1 − q would lose.
func FQuantile(p, d1, d2 float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(d1 >= leastDF) || !(d2 >= leastDF) || d1 > manyDF:
		return math.NaN()
	case p == 0:
		return 0
	case p == 1:
		return math.Inf(1)
	case d2 > manyDF:
		return ChiSquareQuantile(p, d1) / d1
	case p > 0.5:
		return 1 / math.Exp(logFLower(1-p, d2, d1))
	}
	return math.Exp(logFLower(p, d1, d2))
}

// logFLower is log f for a lower tail p ≤ ½.
func logFLower(p, d1, d2 float64) float64 {
	a, b := d1/2, d2/2
	lbeta := mathext.Lbeta(a, b)
	lower := func(u float64) (float64, float64) {
		r := math.Exp(u) * d1 / d2
		logX := u + math.Log(d1/d2) - math.Log1p(r)
		v := a*logX - math.Log(a) - lbeta // I_x(a, b) near x = 0
		if x := math.Exp(logX); x > 1e-17 {
			if x < 0.5 {
				v = math.Log(mathext.RegIncBeta(a, b, x))
			} else {
				v = math.Log1p(-mathext.RegIncBeta(b, a, 1/(1+r)))
			}
		}
		return v, math.Exp(a*logX - b*math.Log1p(r) - lbeta - v)
	}
	return solveMonotone(lower, math.Log(p), 0)
}
