package num

import (
	"math"
	"testing"
)

// Of JCGM 101:2008, 9.2.4: three rectangular inputs of standard uncertainty 1, which together are nearly normal, and
// one of 10. 95 % lie within 17.0; a normal of that standard deviation would have 19.9.
func TestRoundedAgainstJCGM101(t *testing.T) {
	sd, step := math.Sqrt(3), 10*math.Sqrt(12)
	within := func(e float64) float64 {
		high, _ := RoundedBelow(e, sd, step)
		low, _ := RoundedBelow(-e, sd, step)
		return high - low
	}
	if e, err := Root(func(e float64) float64 { return within(e) - 0.95 }, 1, 30, 1e-6); err != nil || math.Abs(e-17) > 0.05 {
		t.Errorf("95 %% lie within %.3f, published 17.0 (%v)", e, err)
	}
}

// The chance is that of the normal averaged over where the steps lie, and the slope is its slope.
func TestRoundedBelow(t *testing.T) {
	const phases = 2000
	for _, step := range []float64{0, 0.01, 0.5, 1, 4, 30} {
		for x := -20.0; x <= 20; x += 0.37 {
			mean := 0.0
			for i := range phases {
				mean += Phi(x+((float64(i)+0.5)/phases-0.5)*step) / phases
			}
			p, slope := RoundedBelow(x, 1, step)
			if math.Abs(p-mean) > 2e-5 {
				t.Errorf("steps of %g, below %g: %.6f, by averaging %.6f", step, x, p, mean)
			}
			above, _ := RoundedBelow(x+1e-4, 1, step)
			below, _ := RoundedBelow(x-1e-4, 1, step)
			if by := (above - below) / 2e-4; math.Abs(slope-by) > 1e-5 {
				t.Errorf("steps of %g, at %g: slope %.6f, by difference %.6f", step, x, slope, by)
			}
		}
	}
	for _, c := range []struct{ x, want float64 }{{-0.6, 0}, {-0.5, 0}, {0.2, 0.7}, {0.5, 1}, {3, 1}} { // no scatter: the rectangular alone
		if p, _ := RoundedBelow(c.x, 0, 1); math.Abs(p-c.want) > 1e-6 {
			t.Errorf("steps alone, below %g: %g, want %g", c.x, p, c.want)
		}
	}
}

// What readings of one value are rounded by alike, by working out the mean reading wherever the steps lie.
func TestRoundingShared(t *testing.T) {
	const phases = 4000
	for _, s := range []float64{0.001, 0.03, 0.1, 0.19, 0.21, 0.3, 0.5, 1} {
		square := 0.0
		for i := range phases {
			at := (float64(i)+0.5)/phases - 0.5 // the value lies so far above what a number stands for
			mean := 0.0
			for k := -9.0; k <= 9; k++ {
				mean += k * (Phi((k+0.5-at)/s) - Phi((k-0.5-at)/s))
			}
			square += (mean - at) * (mean - at) / phases
		}
		if got := RoundingShared(s); math.Abs(got-square) > 5e-5 {
			t.Errorf("scatter of %g steps: %.6f, by working it out %.6f", s, got, square)
		}
	}
}
