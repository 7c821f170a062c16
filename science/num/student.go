package num

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// leastDF is below any number of degrees of freedom with a meaning. Less is
// answered with NaN: the incomplete beta and gamma functions go wrong there.
const leastDF = 1e-3

// TCDF is the distribution function of Student's t with df degrees of freedom
// (any df > 0; +Inf is the normal distribution). Both tails keep their relative
// digits: about 1e-14 for df ≤ 100 or df ≥ 1000, 4e-13 between. For an upper
// tail take TCDF(−t, df).
func TCDF(t, df float64) float64 {
	switch {
	case math.IsNaN(t) || !(df >= leastDF):
		return math.NaN()
	case t > 0:
		return 1 - math.Exp(logTTail(t, df))
	case t == 0:
		return 0.5
	}
	return math.Exp(logTTail(-t, df))
}

// TPDF is the density of Student's t with df degrees of freedom.
func TPDF(t, df float64) float64 {
	if math.IsNaN(t) || !(df >= leastDF) {
		return math.NaN()
	}
	return math.Exp(logTPDF(t, df))
}

// TQuantile is the quantile of Student's t: the t with TCDF(t, df) = p. It is
// found by Newton steps on the logarithm of the nearer tail (or, within 1/4 of
// the middle, of the probability between 0 and t) in log t, which is nearly
// straight at both ends. ±Inf at p = 1 and 0; NaN outside.
//
// gonum's own quantile is off by orders of magnitude in far tails for
// df ≥ 1000 and poor near p = 0.5.
func TQuantile(p, df float64) float64 {
	switch {
	case !(p >= 0 && p <= 1) || !(df >= leastDF):
		return math.NaN()
	case p == 0 || p == 1:
		return math.Inf(int(2*p - 1))
	case p == 0.5:
		return 0
	case math.IsInf(df, 1):
		return PhiInv(p)
	}
	tail := min(p, 1-p)
	if math.Log(tail) < logTTail(math.MaxFloat64, df) { // no finite number is far enough out
		return math.Copysign(math.Inf(1), p-0.5)
	}
	var u float64
	if tail > 0.25 {
		u = solveMonotone(func(u float64) (float64, float64) {
			t := math.Exp(u)
			body := logTBody(t, df)
			return body, math.Exp(u + logTPDF(t, df) - body)
		}, math.Log(0.5-tail), math.Log((0.5-tail)/invSqrt2Pi))
	} else {
		u = solveMonotone(func(u float64) (float64, float64) {
			t := math.Exp(u)
			v := logTTail(t, df)
			return v, -math.Exp(u + logTPDF(t, df) - v)
		}, math.Log(tail), math.Log(-PhiInv(tail)))
	}
	return math.Copysign(math.Exp(u), p-0.5)
}

// nearNormal says whether t is best taken through its normal deviate.
func nearNormal(t, df float64) bool { return df >= 1000 && t*t <= 0.1*df }

// normalDeviate turns t ≥ 0 into the z with the same tail (G. W. Hill 1970,
// Comm. ACM 13, 617, algorithm 395). Within nearNormal its error was below
// 1e-14 relative in the tail probability against 30-digit arithmetic.
func normalDeviate(t, df float64) float64 {
	if math.IsInf(df, 1) {
		return t
	}
	a := df - 0.5
	b := 48 * a * a
	y := a * math.Log1p(t/df*t)
	return (((((-0.4*y-3.3)*y-24)*y-85.5)/(0.8*y*y+100+b)+y+3)/b + 1) * math.Sqrt(y)
}

// logTTail is log P(T > t) for t > 0.
func logTTail(t, df float64) float64 {
	switch {
	case math.IsInf(t, 1):
		return math.Inf(-1)
	case nearNormal(t, df) || math.IsInf(df, 1):
		return LogPhi(-normalDeviate(t, df))
	case t < 1:
		return math.Log(0.5 - math.Exp(logTBody(t, df)))
	}
	logX := -math.Log1p(t / df * t)
	if t > 1e100 {
		logX = math.Log(df) - 2*math.Log(t)
	}
	if logX < -18 || df*logX < -1200 {
		return logTFarTail(logX, df)
	}
	return math.Log(0.5 * mathext.RegIncBeta(df/2, 0.5, math.Exp(logX)))
}

// logTFarTail is the series of ½ I_x(a, ½) about x = 0, a = df/2, from log x:
// x^a / (2a·B(a,½)) · Σ (½)_k a / (k! (a+k)) · x^k.
func logTFarTail(logX, df float64) float64 {
	a := df / 2
	x := math.Exp(logX)
	sum, term := 1.0, 1.0
	for k := 1.0; k < 1000; k++ {
		term *= (k - 0.5) / k * x
		sum += term * a / (a + k)
		if term < 1e-17 {
			break
		}
	}
	return a*logX - math.Log(2*a) - mathext.Lbeta(a, 0.5) + math.Log(sum)
}

// logTBody is log P(0 < T < t).
func logTBody(t, df float64) float64 {
	if nearNormal(t, df) {
		return LogPhiDiff(0, normalDeviate(t, df))
	}
	if t < 1e-8 {
		return math.Log(t) + logTPDF(0, df) // the density is flat there
	}
	x := t * t / (df + t*t)
	return math.Log(0.5 * mathext.RegIncBeta(0.5, df/2, x))
}

func logTPDF(t, df float64) float64 {
	if math.IsInf(df, 1) {
		return LogNormalPDF(t)
	}
	return logTConstant(df) - (df+1)/2*log1pSquare(t, df)
}

// log1pSquare is log(1 + t²/df) without overflow.
func log1pSquare(t, df float64) float64 {
	if math.Abs(t) > 1e100 {
		return 2*math.Log(math.Abs(t)) - math.Log(df)
	}
	return math.Log1p(t / df * t)
}

// logTConstant is log of Γ((df+1)/2) / (Γ(df/2)·√(df·π)); for many degrees of
// freedom by its asymptotic series, where the two log-gammas would cancel.
func logTConstant(df float64) float64 {
	if df > 100 {
		r := 1 / df
		return -lnSqrt2Pi - r/4 + r*r*r/24 - r*r*r*r*r/20
	}
	return -mathext.Lbeta(df/2, 0.5) - 0.5*math.Log(df)
}
