package num

import (
	"math"
	"testing"
)

// Against the standard library, over all that a float64 reaches.
func TestExpLog(t *testing.T) {
	for x := -760.0; x < 720; x += 0.01713 {
		if got, want := Exp(x), math.Exp(x); !(math.Abs(got-want) <= 2e-15*want) && got != want {
			t.Fatalf("e^%v: %v, want %v", x, got, want)
		}
	}
	for _, about := range []float64{1e-308, 1e-299, 1e-20, 0.5, 1, 2, 7, 1e20, 1e301} {
		for i := range 2000 {
			x := about * (0.5 + float64(i)/1000)
			if got, want := Log(x), math.Log(x); !(math.Abs(got-want) <= 1e-15*math.Max(1, math.Abs(want))) {
				t.Fatalf("log %v: %v, want %v", x, got, want)
			}
		}
	}
	for _, x := range []float64{math.Inf(-1), math.Inf(1), 0} {
		if Exp(x) != math.Exp(x) {
			t.Errorf("e^%v: %v", x, Exp(x))
		}
	}
	for _, x := range []float64{0, math.Inf(1)} {
		if Log(x) != math.Log(x) {
			t.Errorf("log %v: %v", x, Log(x))
		}
	}
	if !math.IsNaN(Exp(math.NaN())) || !math.IsNaN(Log(math.NaN())) || !math.IsNaN(Log(-1)) {
		t.Error("of no number")
	}
}
