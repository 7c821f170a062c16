package control

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// Of rows that are really drawn four of five ring within what a plan states, which is longer for smaller shifts.
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
		last := 0.0
		for _, ratio := range []float64{0.85, 0.9, 0.95} { // of 10 with a scatter of 0.5: 3, 2 and 1 standard deviations
			want := DelayFor(r, l, ratio, nil)
			if !(want > last) {
				t.Errorf("%s: %g after %g checks, a larger one after %g", c.name, ratio, want, last)
			}
			last = want
			const rows = 300
			rang, earlier := 0, 0
			for range rows {
				switch took := float64(until(r.Checks[0].Draws, r.Tiles, (ratio-1)*10/0.5, 12, 200, rng)); {
				case took < want:
					earlier++
					fallthrough
				case took == want:
					rang++
				}
			}
			t.Logf("%s: %g within %g in %d of %d", c.name, ratio, want, rang, rows)
			if rang < 219 || earlier > 261 { // 240 expected, and three standard deviations
				t.Errorf("%s: %g within %g checks in %d of %d, in %d of them earlier", c.name, ratio, want, rang, rows, earlier)
			}
		}
	}
	if d := DelayFor(Row{}, Limits{}, 0.8, nil); !math.IsNaN(d) && !math.IsInf(d, 1) {
		t.Errorf("nothing to plan by: %g", d)
	}
}
