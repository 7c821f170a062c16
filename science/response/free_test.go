package response

import (
	"math"
	"sort"
	"testing"

	"gonum.org/v1/gonum/interp"
	"pgregory.net/rapid"
)

// rising are three to nine knots, and answers that never fall.
func rising(t *rapid.T) (x, y []float64) {
	n := rapid.IntRange(3, 9).Draw(t, "knots")
	x, y = make([]float64, n), make([]float64, n)
	for i := 1; i < n; i++ {
		x[i] = x[i-1] + rapid.Float64Range(0.1, 10).Draw(t, "width")
		y[i] = y[i-1] + rapid.SampledFrom([]float64{0, 0.01, 0.3, 1, 2, 20}).Draw(t, "rise")
	}
	return x, y
}

// Between its knots the free shape is the Fritsch–Butland interpolant, as gonum has it, and so is its slope; but
// where the chords on both sides of a piece would bend it to both sides it is the chord.
func TestFreeIsAsTheLibraryHasIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rising(t)
		n := len(x)
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

// Where pieces bend by shares of their own each is the cubic that the library makes of its ends and of the slopes there: the chord's
// and so much of what the interpolant's differ from it, kept between 0 and three times the chord's. It never falls.
func TestFreeBendsByShares(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rising(t)
		n := len(x)
		bend := make([]float64, n-1)
		for i := range bend {
			bend[i] = rapid.SampledFrom([]float64{0, 0.4, 1, 3, 12}).Draw(t, "bend")
		}
		var smooth interp.FritschButland
		if err := smooth.Fit(x, y); err != nil {
			t.Fatal(err)
		}
		i := rapid.IntRange(0, n-2).Draw(t, "piece")
		d := (y[i+1] - y[i]) / (x[i+1] - x[i])
		slopes := make([]float64, 2)
		for k := range slopes {
			slopes[k] = min(max(d+bend[i]*(smooth.PredictDerivative(x[i+k])-d), 0), 3*d)
		}
		var want interp.PiecewiseCubic
		want.FitWithDerivatives(x[i:i+2], y[i:i+2], slopes)
		s, p, last := FreeOn(x), append(y, bend...), math.Inf(-1)
		for j := range 21 {
			c := x[i] + (x[i+1]-x[i])*float64(j)/20
			got := s.At(p, c)
			if math.Abs(got-want.Predict(c)) > 1e-9*(1+math.Abs(got)) || got < last-1e-9*(1+math.Abs(last)) {
				t.Errorf("%v %v at %g: %g after %g, the library %g", x, p, c, got, last, want.Predict(c))
			}
			if j > 0 && j < 20 && math.Abs(s.Slope(p, c)-want.PredictDerivative(c)) > 1e-8*(1+d) {
				t.Errorf("%v %v at %g: slope %g, the library %g", x, p, c, s.Slope(p, c), want.PredictDerivative(c))
			}
			last = got
		}
	})
}

// Beyond the knots the chord of the end piece goes on, whatever the pieces bend by: by hand, (0, 0), (1, 1), (3, 2).
func TestFreeGoesOnStraight(t *testing.T) {
	s := FreeOn([]float64{0, 1, 3})
	for _, p := range [][]float64{{0, 1, 2}, {0, 1, 2, 0.4, 3}} {
		for _, x := range []struct{ c, at, slope float64 }{{-1, -1, 1}, {4, 2.5, 0.5}, {7, 4, 0.5}} {
			if at, slope := s.At(p, x.c), s.Slope(p, x.c); at != x.at || slope != x.slope {
				t.Errorf("%v at %g: %g, slope %g; by hand %g and %g", p, x.c, at, slope, x.at, x.slope)
			}
		}
	}
}
