package num

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ChiSquareCDF is P(X ≤ x) for chi-square with df > 0 degrees of freedom.
func ChiSquareCDF(x, df float64) float64 {
	switch {
	case math.IsNaN(x) || !(df >= leastDF) || math.IsInf(df, 1):
		return math.NaN()
	case x <= 0:
		return 0
	case math.IsInf(x, 1):
		return 1
	}
	return math.Exp(logGammaLower(df/2, x/2))
}

// ChiSquareSurvival is P(X > x), keeping the digits of a small upper tail.
func ChiSquareSurvival(x, df float64) float64 {
	switch {
	case math.IsNaN(x) || !(df >= leastDF) || math.IsInf(df, 1):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	return mathext.GammaIncRegComp(df/2, x/2)
}

// ChiSquareQuantile is the x with ChiSquareCDF(x, df) = p: 0 at p = 0, +Inf at
// p = 1, NaN outside. It solves the logarithm of the nearer tail in log x;
// gonum's inverse panics for p near 0. Where x itself is below the smallest
// number it is 0.
func ChiSquareQuantile(p, df float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(df >= leastDF) || math.IsInf(df, 1):
		return math.NaN()
	case p == 0:
		return 0
	case p == 1:
		return math.Inf(1)
	}
	a := df / 2
	density := func(u float64) float64 { // of log(x/2)
		lg, _ := math.Lgamma(a)
		return a*u - math.Exp(u) - lg
	}
	lower := func(u float64) (float64, float64) {
		v := logGammaLower(a, math.Exp(u))
		if math.Exp(u) < 1e-300 {
			lg, _ := math.Lgamma(a + 1)
			return a*u - lg, a
		}
		return v, math.Exp(density(u) - v)
	}
	upper := func(u float64) (float64, float64) {
		v := math.Log(mathext.GammaIncRegComp(a, math.Exp(u)))
		return v, -math.Exp(density(u) - v)
	}
	if p <= 0.5 {
		return 2 * math.Exp(solveMonotone(lower, math.Log(p), startGamma(p, a)))
	}
	return 2 * math.Exp(solveMonotone(upper, math.Log1p(-p), startGamma(p, a)))
}

// startGamma is a first guess of log x with P(a, x) = p: the cube root is
// nearly normal (Wilson & Hilferty 1931), and x^a/Γ(a+1) near 0.
func startGamma(p, a float64) float64 {
	c := 1 / (9 * a)
	root := 1 - c + PhiInv(p)*math.Sqrt(c)
	if root > 0.3 {
		return math.Log(a) + 3*math.Log(root)
	}
	lg, _ := math.Lgamma(a + 1)
	return (math.Log(p) + lg) / a
}

// logGammaLower is log P(a, x), by its own series where x is so small that P
// would underflow or its parts would.
func logGammaLower(a, x float64) float64 {
	if x > 1e-3*(a+1) {
		return math.Log(mathext.GammaIncReg(a, x))
	}
	// P(a, x) = x^a e^−x / Γ(a+1) · Σ x^k / ((a+1)…(a+k))
	sum, term := 1.0, 1.0
	for k := 1.0; k < 40; k++ {
		term *= x / (a + k)
		sum += term
	}
	lg, _ := math.Lgamma(a + 1)
	return a*math.Log(x) - x - lg + math.Log(sum)
}
