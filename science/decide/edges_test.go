package decide

import (
	"math"
	"testing"
)

// What gives no guard band gives none for one limit either.
func TestNoGuardBandOfOneLimit(t *testing.T) {
	for _, bad := range [][4]float64{{math.Inf(-1), 2, 0, 0.95}, {math.Inf(-1), 2, -1, 0.95}, {math.Inf(-1), 2, 1, 0.4}, {math.Inf(-1), 2, 1, 1}, {math.Inf(1), 2, 1, 0.95}, {math.Inf(-1), 2, 1, 0.5}} {
		if g := GuardBand(bad[0], bad[1], bad[2], bad[3]); !math.IsNaN(g) {
			t.Errorf("%v: %g", bad, g)
		}
	}
}

// Alike anywhere between 2 and 6: a quarter a unit, all within.
func TestEven(t *testing.T) {
	p := Even(2, 6)
	if p.From != 2 || p.To != 6 || p.Density(3) != 0.25 {
		t.Errorf("%v to %v, %v a unit", p.From, p.To, p.Density(3))
	}
	whole := [2]float64{math.Inf(-1), math.Inf(1)}
	if r := Risk(p, right, func(float64) float64 { return 1 }, whole, whole); !(math.Abs(r.Conforming-1) <= 1e-12) || !(math.Abs(r.Accepted-1) <= 1e-12) {
		t.Errorf("in all %v conform, %v are accepted", r.Conforming, r.Accepted)
	}
}
