package num

import (
	"errors"
	"math"
)

// ErrNoBracket says that a function does not change sign between two points.
var ErrNoBracket = errors.New("the function has the same sign at both ends")

// Root finds a zero of f between a and b, where f must change sign, by
// Brent's method (R. P. Brent 1973, Algorithms for Minimization without
// Derivatives, ch. 4) to within tol + 4·eps·|x|.
func Root(f func(float64) float64, a, b, tol float64) (float64, error) {
	fa, fb := f(a), f(b)
	switch {
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	case !(fa < 0 && fb > 0) && !(fa > 0 && fb < 0):
		return math.NaN(), ErrNoBracket
	}
	c, fc := a, fa
	d := b - a // last step
	e := d     // the one before
	for range 500 {
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			d = b - a
			e = d
		}
		if math.Abs(fc) < math.Abs(fb) { // keep b the best
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		near := 4.5e-16*math.Abs(b) + tol/2
		half := (c - b) / 2
		if math.Abs(half) <= near || fb == 0 {
			return b, nil
		}
		if math.Abs(e) < near || math.Abs(fa) <= math.Abs(fb) {
			d, e = half, half
		} else if p, q := interpolate(a, b, c, fa, fb, fc); 2*p < min(3*half*q-math.Abs(near*q), math.Abs(e*q)) {
			d, e = p/q, d
		} else {
			d, e = half, half
		}
		a, fa = b, fb
		if math.Abs(d) > near {
			b += d
		} else {
			b += math.Copysign(near, half)
		}
		fb = f(b)
		if math.IsNaN(fb) {
			return math.NaN(), errors.New("the function is not a number inside the bracket")
		}
	}
	return b, nil
}

// interpolate is Brent's step p/q, p ≥ 0, by the secant or the inverse parabola.
func interpolate(a, b, c, fa, fb, fc float64) (p, q float64) {
	half := (c - b) / 2
	s := fb / fa
	if a == c {
		p, q = 2*half*s, 1-s
	} else {
		q, r := fa/fc, fb/fc
		p = s * (2*half*q*(q-r) - (b-a)*(r-1))
		if p > 0 {
			return p, -(q - 1) * (r - 1) * (s - 1)
		}
		return -p, (q - 1) * (r - 1) * (s - 1)
	}
	if p > 0 {
		return p, -q
	}
	return -p, q
}
