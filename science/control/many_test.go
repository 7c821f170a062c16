package control

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Many checks say themselves how they scatter, where the record hardly does: what they read is told as surely as by all draws of the
// record, each weighed in closed form by its chance σ^(1−n) exp(−S/2σ²), with S the sum of squares about the checks' mean.
func TestManyChecksOfALittleKnownScatter(t *testing.T) {
	const n, doubt, wide = 80, 0.45, 0.5
	for run := range uint64(6) {
		rng := num.Source(run, 6)
		var draws []Normal
		for range 320 {
			draws = append(draws, Normal{10 + wide*doubt*rng.NormFloat64(), wide * math.Exp(0.4*rng.NormFloat64())})
		}
		r := Row{}
		var seen []float64
		for range n {
			y := draws[0].Mean + wide*rng.NormFloat64()
			seen = append(seen, y)
			r.Checks = append(r.Checks, Check{interval.Exact(y), draws})
		}
		mean, sd := num.MeanSD(seen)
		unit := r.Checks[0].unit().SD
		likely := func(d Normal) float64 {
			return math.Exp((1 - n) * (math.Log(d.SD/sd) + (sd*sd/d.SD/d.SD-1)/2))
		}
		below := func(shift float64) float64 {
			sum, all := 0.0, 0.0
			for _, d := range draws {
				sum += likely(d) * num.Phi((shift*unit-mean+d.Mean)*math.Sqrt(n)/d.SD)
				all += likely(d)
			}
			return sum / all
		}
		_, low, high := Now(r).Interval()
		if l, h := below(low), 1-below(high); l < 0.01 || l > 0.05 || h < 0.01 || h > 0.05 {
			t.Errorf("row %d: of all draws %.3f lie below, %.3f above", run, l, h)
		}
	}
}
