package response

import (
	"math"
	"sort"
	"testing"

	"gonum.org/v1/gonum/interp"
	"pgregory.net/rapid"
)

// Between its knots the free shape is the Fritsch–Butland interpolant, as gonum has it, and so is its slope; but
// where the chords on both sides of a piece would bend it to both sides it is the chord.
func TestFreeIsAsTheLibraryHasIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 9).Draw(t, "knots")
		x, y := make([]float64, n), make([]float64, n)
		for i := 1; i < n; i++ {
			x[i] = x[i-1] + rapid.Float64Range(0.1, 10).Draw(t, "width")
			y[i] = y[i-1] + rapid.SampledFrom([]float64{0, 0.01, 0.3, 1, 2, 20}).Draw(t, "rise")
		}
		var want interp.FritschButland
		if err := want.Fit(x, y); err != nil {
			t.Fatal(err)
		}
		c := rapid.Float64Range(0, x[n-1]).Draw(t, "c")
		s := FreeOn(x)
		i := max(sort.SearchFloat64s(x, c), 1) - 1
		d := func(i int) float64 { return (y[i+1] - y[i]) / (x[i+1] - x[i]) }
		if i > 0 && i < n-2 && (d(i)-d(i-1))*(d(i+1)-d(i)) < 0 {
			if got, want := s.At(y, c), y[i]+(c-x[i])*d(i); math.Abs(got-want) > 1e-12*(1+want) || s.Slope(y, c) != d(i) {
				t.Errorf("%v %v at %g: %g, the chord %g", x, y, c, got, want)
			}
			return
		}
		if got, want := s.At(y, c), want.Predict(c); math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
			t.Errorf("%v %v at %g: %g, the library %g", x, y, c, got, want)
		}
		if got, want := s.Slope(y, c), want.PredictDerivative(c); math.Abs(got-want) > 1e-8*(1+math.Abs(want)) {
			t.Errorf("%v %v at %g: slope %g, the library %g", x, y, c, got, want)
		}
	})
}
