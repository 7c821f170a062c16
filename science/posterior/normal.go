package posterior

import (
	"math"

	"knownwater/science/num"
)

// phiInv is the inverse of Φ by chance: linear interpolation, good to 1e-6, for what is drawn by
// the thousand.
const invSteps = 1 << 14

var phiInv = func() []float64 {
	inv := make([]float64, invSteps+1)
	for i := range inv {
		inv[i] = num.PhiInv(math.Min(math.Max(float64(i)/invSteps, 1e-9), 1-1e-9))
	}
	return inv
}()

// quantile is Φ⁻¹; in the outer hundredths, where a table bends, it is computed.
func quantile(p float64) float64 {
	if p < 0.01 || p > 0.99 {
		return num.PhiInv(math.Min(math.Max(p, 1e-300), 1-1e-16))
	}
	at := p * invSteps
	i := int(at)
	return phiInv[i] + (at-float64(i))*(phiInv[i+1]-phiInv[i])
}

// truncated draws from a standard normal between a and b by inversion of the
// chance u; far out in a tail by the one that it is like, x·e^(−x²/2), good to the
// order of 1/a².
func truncated(a, b, u float64) float64 {
	switch {
	case a > 5:
		return fromTail(a, b, u)
	case b < -5:
		return -fromTail(-b, -a, 1-u)
	case a > 0: // the upper tail keeps its digits as a lower one
		return -truncated(-b, -a, 1-u)
	}
	pa, pb := 0.0, 1.0
	if a > -num.QuickEnd {
		pa = num.QuickPhi(a)
	}
	if b < num.QuickEnd {
		pb = num.QuickPhi(b)
	}
	x := quantile(pa + u*(pb-pa))
	return min(max(x, a), b)
}

// fromTail inverts 1 − e^(−a·t − t²/2), t = x − a, between a and b, a > 5.
func fromTail(a, b, u float64) float64 {
	end := 1.0
	if !math.IsInf(b, 1) {
		end = -math.Expm1(-0.5 * (b - a) * (b + a))
	}
	return math.Sqrt(a*a - 2*math.Log1p(-u*end))
}
