package control

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// The delay that a plan states is that of rows that are really drawn, and longer for smaller
// shifts.
func TestDelayFor(t *testing.T) {
	rng := num.Source(51)
	for _, c := range []struct {
		name  string
		tiles bool
	}{{"numbers", false}, {"steps", true}} {
		r := Row{}
		if c.tiles {
			r.Tiles = card(1)
		}
		r.Checks = []Check{{read(10, r.Tiles), known(0)}}
		l := chartWith(r).Limits
		before := 0.0
		for _, ratio := range []float64{0.85, 0.9, 0.95} { // of 10 with a scatter of 0.5: 3, 2 and 1 standard deviations
			want := DelayFor(r, l, ratio, nil)
			if !(want > before) {
				t.Errorf("%s: %g after %g checks, a larger one after %g", c.name, ratio, want, before)
			}
			before = want
			var took []float64
			for range 400 {
				took = append(took, float64(until(r.Checks[0].Draws, r.Tiles, (ratio-1)*10/0.5, 12, 400, rng)))
			}
			mean := num.Mean(took)
			t.Logf("%s: %g after %.2f, stated %.2f", c.name, ratio, mean, want)
			if mean > 1.1*want || mean < 0.6*want { // the quickest chart's mean: together they are quicker
				t.Errorf("%s: %g after %.2f checks, stated %.2f", c.name, ratio, mean, want)
			}
		}
	}
	if d := DelayFor(Row{}, Limits{}, 0.8, nil); !math.IsNaN(d) && !math.IsInf(d, 1) {
		t.Errorf("nothing to plan by: %g", d)
	}
}
