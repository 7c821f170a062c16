package num

import (
	"math"
	"slices"
	"testing"
)

// The quantile by partition is the one by sorting, ties and infinite values too.
func TestQuantileOfIsQuantile(t *testing.T) {
	rng := Source(5, 1)
	for round := range 400 {
		v := make([]float64, 1+rng.IntN([]int{300, 3000}[round%2]))
		for i := range v {
			v[i] = math.Round(4 * rng.NormFloat64())
			if round/2%3 == 0 {
				v[i] = rng.NormFloat64()
			}
			if rng.IntN(40) == 0 {
				v[i] = math.Inf(1 - 2*rng.IntN(2))
			}
		}
		before, s := slices.Clone(v), slices.Sorted(slices.Values(v))
		for _, p := range []float64{0, 0.025, 0.5, 0.975, rng.Float64(), 1} {
			got, want := QuantileOf(v, p), Quantile(s, p)
			if got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
				t.Fatalf("the %v quantile of %v: %v, want %v", p, v, got, want)
			}
		}
		ps := []float64{0.01, 0.025, 0.159, 0.5, 0.5001, 0.975}
		for i, got := range QuantilesOf(v, ps...) {
			if want := Quantile(s, ps[i]); got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
				t.Fatalf("together, the %v quantile of %v: %v, want %v", ps[i], v, got, want)
			}
		}
		if !slices.Equal(v, before) {
			t.Fatal("the sample was changed")
		}
	}
}
