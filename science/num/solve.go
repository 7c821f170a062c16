package num

import "math"

// solveMonotone finds u with f(u) = target for a rising or falling smooth f,
// by Newton steps kept inside a bracket that only ever shrinks. f returns value
// and slope. It is meant for logarithms of probabilities, which are nearly
// straight in the logarithm of the argument.
func solveMonotone(f func(u float64) (value, slope float64), target, u float64) float64 {
	lo, hi := math.Inf(-1), math.Inf(1)
	for range 200 {
		v, s := f(u)
		if math.IsNaN(v) {
			return math.NaN()
		}
		off := target - v
		if off == 0 {
			return u
		}
		if (off > 0) == (s > 0) {
			lo = u
		} else {
			hi = u
		}
		step := off / s
		if s == 0 || math.IsNaN(step) || math.Abs(step) > 50 {
			step = math.Copysign(50, hi-u) // both ends still open, or far from the root
			if !math.IsInf(hi, 1) {
				step = -50
			}
		}
		if math.Abs(step) <= 4e-16*max(1, math.Abs(u)) {
			return u // before the bracket is asked: the last step may land on its end
		}
		next := u + step
		if !(next > lo && next < hi) {
			switch {
			case math.IsInf(hi, 1):
				next = u + 50
			case math.IsInf(lo, -1):
				next = u - 50
			default:
				next = lo + (hi-lo)/2
			}
		}
		if math.Abs(next-u) <= 4e-16*max(1, math.Abs(u)) {
			return next
		}
		u = next
	}
	return u
}
