package num

import (
	"math"
	"testing"
)

// At the limits the tail sums of the binomial are 2.5 %: another formula than the
// F quantiles that the limits come from.
func TestClopperPearson(t *testing.T) {
	tail := func(p float64, from, to, n int) float64 {
		sum := 0.0
		for k := from; k <= to; k++ {
			lg := func(v int) float64 { g, _ := math.Lgamma(float64(v) + 1); return g }
			sum += math.Exp(lg(n) - lg(k) - lg(n-k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
		}
		return sum
	}
	for _, c := range [][2]int{{1, 2}, {7, 10}, {63, 100}, {99, 100}, {5, 1000}} {
		k, n := c[0], c[1]
		low, high := ClopperPearson(k, n, 0.05)
		if p := tail(low, k, n, n); !(math.Abs(p-0.025) <= 1e-9) {
			t.Errorf("%d of %d: %d or more have %g under %g", k, n, k, p, low)
		}
		if p := tail(high, 0, k, n); !(math.Abs(p-0.025) <= 1e-9) {
			t.Errorf("%d of %d: %d or fewer have %g under %g", k, n, k, p, high)
		}
	}
	// None and all in closed form: 1 − 0.025^(1/n).
	if low, high := ClopperPearson(0, 20, 0.05); low != 0 || !(math.Abs(high-(1-math.Pow(0.025, 0.05))) <= 1e-12) {
		t.Errorf("0 of 20: %g to %g", low, high)
	}
	if low, high := ClopperPearson(20, 20, 0.05); high != 1 || !(math.Abs(low-math.Pow(0.025, 0.05)) <= 1e-12) {
		t.Errorf("20 of 20: %g to %g", low, high)
	}
	if low, high := ClopperPearson(0, 0, 0.05); low != 0 || high != 1 {
		t.Errorf("nothing: %g to %g", low, high)
	}
}
