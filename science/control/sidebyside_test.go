package control

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// The planned number of vials finds the difference as often as it says, and one vial fewer
// does not; a shift that is there lies in its interval.
func TestSideBySide(t *testing.T) {
	rng := num.Source(21)
	for _, c := range []struct{ cv, ratio float64 }{{0.13, 0.8}, {0.1, 1.15}, {0.05, 0.9}} {
		n := SideBySide(c.cv, c.ratio, 0.8)
		found := func(n int) float64 {
			hits := 0
			for range 4000 {
				diff := 0.0
				for range n {
					diff += (math.Log(c.ratio) + c.cv*rng.NormFloat64() - c.cv*rng.NormFloat64()) / float64(n)
				}
				if math.Abs(diff) > num.PhiInv(0.975)*c.cv*math.Sqrt(2/float64(n)) {
					hits++
				}
			}
			return float64(hits) / 4000
		}
		if got, less := found(n), found(n-1); got < 0.78 || less > 0.82 {
			t.Errorf("%+v: %d vials find it in %.3f, one fewer in %.3f", c, n, got, less)
		}
	}
	for _, bad := range [][3]float64{{0, 0.8, 0.8}, {0.1, 1, 0.8}, {0.1, 0, 0.8}, {0.1, 0.8, 1}, {math.NaN(), 0.8, 0.8}} {
		if n := SideBySide(bad[0], bad[1], bad[2]); n != 0 {
			t.Errorf("%v: %d", bad, n)
		}
	}
}

func TestNow(t *testing.T) {
	rng := num.Source(22)
	held := 0
	for range 200 {
		shift := 3 * (rng.Float64() - 0.5)
		draws := known(0.3)
		d := draws[rng.IntN(len(draws))]
		r := Row{}
		for range 8 {
			r.Checks = append(r.Checks, Check{read(d.Mean+d.SD*(shift+rng.NormFloat64()), nil), draws})
		}
		mid, low, high := Now(r).Interval()
		if low <= shift && shift <= high {
			held++
		}
		if !(low < mid && mid < high) {
			t.Fatal(low, mid, high)
		}
	}
	if held < 184 || held > 199 {
		t.Errorf("held in %d of 200", held)
	}
}
