package num

import (
	"math"
	"slices"
)

// Robust is a mean and a standard deviation that a few stray values hardly move.
type Robust struct {
	Mean, SD float64
	U        float64 // standard uncertainty of Mean, 1.25·SD/√n (ISO 13528)
	Steps    int
}

// AlgorithmA is the robust analysis of ISO 13528 and ISO 5725-5: from the median
// and 1.483 times the median absolute deviation, values beyond 1.5 SD are
// pulled in to that limit, mean and 1.134 times the SD taken anew, until neither
// changes in the twelfth digit. NaN below two values or where it comes to no
// end. Where more than half of the values are equal the spread is 0 and the
// mean theirs.
func AlgorithmA(x []float64) Robust {
	none := Robust{math.NaN(), math.NaN(), math.NaN(), 0}
	if len(x) < 2 {
		return none
	}
	r := Robust{Mean: median(x)}
	away := make([]float64, len(x))
	for i, v := range x {
		away[i] = math.Abs(v - r.Mean)
	}
	r.SD = 1.483 * median(away)
	pulled := make([]float64, len(x))
	for r.Steps = 1; r.Steps < 5000; r.Steps++ {
		limit := 1.5 * r.SD
		for i, v := range x {
			pulled[i] = min(max(v, r.Mean-limit), r.Mean+limit)
		}
		m, s := MeanSD(pulled)
		s *= 1.134
		done := math.Abs(m-r.Mean) <= 1e-13*s && math.Abs(s-r.SD) <= 1e-13*s
		r.Mean, r.SD = m, s
		if done {
			r.U = 1.25 * r.SD / math.Sqrt(float64(len(x)))
			return r
		}
	}
	return none
}

func median(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return Quantile(s, 0.5)
}
