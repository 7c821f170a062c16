package assess

import (
	"math"
	"testing"

	"knownwater/science/num"
	"knownwater/science/record"
)

// Draws of level means from a multivariate t (normals over the root of one χ² ÷ its degrees of freedom,
// each level in a unit of its own) give its degrees of freedom back.
func TestMisfitDegreesOfFreedom(t *testing.T) {
	for _, levels := range []int{3, 8} {
		for _, want := range []float64{3, 5, 8, 15, 40} {
			rng := num.Source(61, uint64(levels))
			k := record.Knowledge{Level: make([]float64, levels), Lead: 4000}
			for range k.Lead {
				s := math.Sqrt(want / num.ChiSquareQuantile(rng.Float64(), want))
				d := make([]float64, levels)
				for i := range d {
					d[i] = float64(i+1) * (10 + s*rng.NormFloat64())
				}
				k.Draw = append(k.Draw, d)
			}
			if got := misfitDF(k); !(math.Abs(1/got-1/want) <= 0.06) { // the quantiles of 4,000 draws say no more
				t.Errorf("%d levels: %.1f degrees of freedom, want %g", levels, got, want)
			}
		}
	}
}
