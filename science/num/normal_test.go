package num

import (
	"fmt"
	"math"
	"testing"
)

func TestNormalAgainstExact(t *testing.T) {
	v, _ := rows(t, "normal_exact.csv")
	for _, r := range v {
		if r[1] > 1e-300 { // below, Φ itself is no ordinary number
			needDigits(t, fmt.Sprintf("Phi(%g)", r[0]), Phi(r[0]), r[1], 15)
			if r[0] < 0 {
				needDigits(t, fmt.Sprintf("PhiInv(Phi(%g))", r[0]), PhiInv(r[1]), r[0], min(14, 16+math.Log10(-r[0])))
			}
		}
		needDigits(t, fmt.Sprintf("LogPhi(%g)", r[0]), LogPhi(r[0]), r[2], 15)
	}
}

func TestLogPhiDiffAgainstExact(t *testing.T) {
	v, _ := rows(t, "phidiff_exact.csv")
	for _, r := range v {
		a, b, want := r[0], r[1], r[2]
		for _, got := range []float64{LogPhiDiff(a, b), LogPhiDiff(-b, -a)} {
			// the error of a log is the relative error of the probability
			if e := math.Abs(got-want) / max(1, math.Abs(want)); !(e < 2e-15) {
				t.Errorf("LogPhiDiff(%g, %g) = %.17g, want %.17g", a, b, got, want)
			}
			needDigits(t, fmt.Sprintf("LogPhiDiff(%g, %g)", a, b), got, want, 14)
		}
	}
}

func TestLogPhiDiffEdges(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct{ a, b, want float64 }{
		{-inf, inf, 0}, {-inf, 0, -math.Ln2}, {0, inf, -math.Ln2},
		{1, 1, -inf}, {-50, -50, -inf}, {inf, inf, -inf}, {-inf, -inf, -inf},
		{2, 1, math.NaN()}, {math.NaN(), 1, math.NaN()}, {0, math.NaN(), math.NaN()},
		{-inf, -100, LogPhi(-100)}, {100, inf, LogPhi(-100)}, {-inf, 3, LogPhi(3)}, {-3, inf, LogPhi(3)},
		{-inf, -1e160, LogPhi(-1e160)}, {-1e200, 1e200, 0}, {-1e200, -1, LogPhi(-1)},
	} {
		got := LogPhiDiff(c.a, c.b)
		same := got == c.want || math.Abs(got-c.want) <= 1e-15*math.Abs(c.want) || math.IsNaN(got) && math.IsNaN(c.want)
		if !same {
			t.Errorf("LogPhiDiff(%g, %g) = %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

// The three ways of LogPhiDiff must join without a step.
func TestLogPhiDiffIsAdditive(t *testing.T) {
	rng := Source(1)
	for range 20000 {
		a := rng.NormFloat64() * 4
		c := a + rng.ExpFloat64()*0.7
		b := a + (c-a)*rng.Float64()
		if !(a < b && b < c) {
			continue
		}
		whole := math.Exp(LogPhiDiff(a, c))
		parts := math.Exp(LogPhiDiff(a, b)) + math.Exp(LogPhiDiff(b, c))
		if math.Abs(parts/whole-1) > 1e-15*max(5, -math.Log(whole)) { // a log has no more digits
			t.Fatalf("Φ over (%g, %g) is %.17g, its parts at %g sum to %.17g", a, c, whole, b, parts)
		}
	}
}

var sink float64

func BenchmarkLogPhiDiff(b *testing.B) {
	for _, c := range []struct {
		name string
		a, w float64
	}{{"across", -1, 1.5}, {"side", 0.5, 1.5}, {"narrow", 0.1, 0.1}, {"tail", 3, 2}, {"far", 13, 0.5}} {
		b.Run(c.name, func(b *testing.B) {
			a, s := c.a, 0.0
			for range b.N {
				s += LogPhiDiff(a, a+c.w)
				a += 1e-10
			}
			sink = s
		})
	}
}
