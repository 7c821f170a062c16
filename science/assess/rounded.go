package assess

import (
	"math"

	"knownwater/science/num"
)

// rounded is how numbers scatter that a display shows in steps.
type rounded struct{ scatter, step, sd float64 }

func roundedBy(scatter, step float64) rounded {
	return rounded{scatter, step, math.Sqrt(scatter*scatter + step*step/12)}
}

// plain says whether they are as good as normal: the middle 95 % is then off by less than a thousandth.
func (r rounded) plain() bool { return r.step <= r.scatter }

// below is the chance that one lies less than x above their mean, and its slope.
func (r rounded) below(x float64) (p, slope float64) {
	if !r.plain() {
		return num.RoundedBelow(x, r.scatter, r.step)
	}
	p, slope = num.QuickPhiSlope(x / r.sd)
	return p, slope / r.sd
}

// half95 is half of the middle 95 % about a place that they are off by.
func (r rounded) half95(off float64) float64 {
	e := r.sd * half95(off/r.sd)
	if r.plain() {
		return e
	}
	return solve95(func(e float64) (p, slope float64) {
		high, up := r.below(e - off)
		low, down := r.below(-e - off)
		return high - low, up + down
	}, e, 0)
}

// mostInOneStep is the scatter, in steps of a display, beyond which n readings all fall in one step in less than 4 of 100 cases
// wherever the mean lies: who says of readings that did that theirs is no larger is wrong no oftener, whatever the scatter is and
// however it goes with the level.
//
//	max over the phase f of Σ_i (Φ((i + 1 − f)/s) − Φ((i − f)/s))ⁿ = 0.04
func mostInOneStep(n float64) float64 {
	chance := func(s float64) float64 {
		most := 0.0
		for _, f := range [...]float64{0, 0.25, 0.5} {
			sum, far := 0.0, math.Ceil(6*s)+1
			for i := -far; i <= far; i++ {
				sum += math.Pow(num.Phi((i+1-f)/s)-num.Phi((i-f)/s), n)
			}
			most = math.Max(most, sum)
		}
		return most
	}
	low, high := 0.1, 20.0
	for range 40 {
		if mid := math.Sqrt(low * high); chance(mid) > 0.04 {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}
