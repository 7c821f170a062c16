package inverse

import (
	"math"

	"knownwater/science/num"
)

// End is where a set ends that holds at: the first place on the way from there
// to reach where margin, above 0 inside, falls to 0. The way is gone in steps that
// double, the first of twice the size given. NaN where the set goes on
// as far as reach, or margin cannot be computed.
//
// It serves responses that are functions, as curves; those that are tables, as records of
// performance, are searched point by point (Turn). Both invert the same two
// one-sided tests.
func End(at, reach, step float64, margin func(c float64) float64) float64 {
	if reach < at {
		step = -step
	}
	from := at
	for at != reach {
		if at = from + 2*step; (at-reach)*step > 0 {
			at = reach
		}
		switch m := margin(at); {
		case math.IsNaN(m):
			return m
		case m <= 0:
			root, err := num.Root(margin, from, at, 1e-12*math.Abs(step))
			if err != nil {
				return math.NaN()
			}
			return root
		}
		from, step = at, 2*step
	}
	return math.NaN()
}
