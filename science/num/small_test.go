package num

import (
	"math"
	"reflect"
	"testing"
)

func TestQuantile(t *testing.T) {
	// R: quantile(c(1, 2, 4, 8, 16), c(0, .1, .25, .5, .9, 1))
	x := []float64{1, 2, 4, 8, 16}
	for _, c := range [][2]float64{{0, 1}, {0.1, 1.4}, {0.25, 2}, {0.5, 4}, {0.9, 12.8}, {1, 16}} {
		needDigits(t, "Quantile", Quantile(x, c[0]), c[1], 15)
	}
	if !math.IsNaN(Quantile(nil, 0.5)) || !math.IsNaN(Quantile(x, 1.1)) {
		t.Error("want NaN for no sample and for p outside 0 … 1")
	}
	if q := Quantile([]float64{math.Inf(-1), math.Inf(-1), 3}, 0.25); !math.IsInf(q, -1) {
		t.Errorf("between two infinite values: %g", q)
	}
}

func TestSourceStreams(t *testing.T) {
	same := func(a, b []uint64) bool { return Source(a[0], a[1:]...).Uint64() == Source(b[0], b[1:]...).Uint64() }
	if !same([]uint64{7, 1, 2}, []uint64{7, 1, 2}) {
		t.Error("one task, two streams")
	}
	for _, c := range [][2][]uint64{
		{{7}, {8}}, {{7}, {7, 0}}, {{7, 0}, {7, 1}}, {{7, 1, 2}, {7, 2, 1}}, {{7, 0}, {7, 0, 0}}, {{7, 1}, {8, 0}}, {{0}, {0, 0}},
	} {
		if same(c[0], c[1]) {
			t.Errorf("tasks %v and %v share a stream", c[0], c[1])
		}
	}
	// Neighbouring tasks are unrelated: the first normal deviates of many tasks
	// have mean 0, variance 1 and no correlation with their neighbours.
	n, sum, sq, cross, last := 40000, 0.0, 0.0, 0.0, 0.0
	for i := range n {
		z := Source(11, uint64(i)).NormFloat64()
		sum, sq, cross, last = sum+z, sq+z*z, cross+z*last, z
	}
	limit := 4 / math.Sqrt(float64(n))
	if m := sum / float64(n); !(math.Abs(m) <= limit) {
		t.Errorf("mean %g", m)
	}
	if v := sq/float64(n) - 1; !(math.Abs(v) <= limit*math.Sqrt2) {
		t.Errorf("variance off by %g", v)
	}
	if c := cross / float64(n); !(math.Abs(c) <= limit) {
		t.Errorf("correlation of neighbours %g", c)
	}
}

func TestIsotonic(t *testing.T) {
	// R: isoreg(c(1, 3, 2, 4, 3.5, 3, 7))$yf
	y := []float64{1, 3, 2, 4, 3.5, 3, 7}
	if got, want := Isotonic(y, nil), []float64{1, 2.5, 2.5, 3.5, 3.5, 3.5, 7}; !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if y[1] != 3 {
		t.Error("changed its argument")
	}
	// by hand: (3·1 + 1·5)/(1+5) pooled with nothing else
	if got, want := Isotonic([]float64{3, 1, 9}, []float64{1, 5, 1}), []float64{8.0 / 6, 8.0 / 6, 9}; !(math.Abs(got[0]-want[0]) <= 1e-15) || got[2] != want[2] || got[0] != got[1] {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := Isotonic(nil, nil); len(got) != 0 {
		t.Errorf("of nothing: %v", got)
	}
	// Optimality against all monotone step functions on a grid is implied by the
	// first-order conditions: weighted sums of residuals vanish over each block.
	rng := Source(3)
	for range 200 {
		y, w := make([]float64, 12), make([]float64, 12)
		for i := range y {
			y[i], w[i] = float64(i)*0.2+rng.NormFloat64(), 0.1+rng.Float64()
		}
		f := Isotonic(y, w)
		r := 0.0
		for i := range y {
			if i > 0 && f[i] < f[i-1] {
				t.Fatal("falls")
			}
			r += w[i] * (y[i] - f[i]) // the cumulative residual is ≥ 0 inside a block …
			if r < -1e-12 {
				t.Fatalf("not the nearest: %g", r)
			}
			if i == len(y)-1 || f[i+1] > f[i] { // … and 0 at its end
				if !(math.Abs(r) <= 1e-12) {
					t.Fatalf("block does not average: %g", r)
				}
				r = 0
			}
		}
	}
}

func TestRoot(t *testing.T) {
	for _, c := range []struct {
		f    func(float64) float64
		a, b float64
		want float64
	}{
		{func(x float64) float64 { return x*x - 2 }, 0, 2, math.Sqrt2},
		{func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.739085133215160641655},
		{func(x float64) float64 { return math.Pow(x-1, 9) }, 0, 2.7, 1},
		{func(x float64) float64 { return math.Exp(x) - 1e-9 }, -100, 5, math.Log(1e-9)},
	} {
		got, err := Root(c.f, c.a, c.b, 1e-15)
		if err != nil || !(math.Abs(got-c.want) <= 1e-14*math.Max(1, math.Abs(c.want))) && c.want != 1 {
			t.Errorf("got %v %v, want %v", got, err, c.want)
		}
	}
	calls := 0
	if _, err := Root(func(x float64) float64 { calls++; return math.Cos(x) - x }, 0, 1, 1e-15); err != nil || calls > 9 {
		t.Errorf("%d evaluations for a nearly straight function (bisection takes 50): %v", calls, err)
	}
	if _, err := Root(func(x float64) float64 { return x*x + 1 }, -1, 1, 1e-9); err == nil {
		t.Error("found a root where there is none")
	}
}

// Two neighbours so far out that their mean is no float64.
func TestMeanSDFarOut(t *testing.T) {
	_, sd := MeanSD([]float64{1e15, 1e15 + 0.125})
	needDigits(t, "SD", sd, 0.125/math.Sqrt2, 15)
	if m, sd := MeanSD([]float64{4}); m != 4 || !math.IsNaN(sd) {
		t.Errorf("one value: %g ± %g", m, sd)
	}
	if m, sd := MeanSD(nil); !math.IsNaN(m) || !math.IsNaN(sd) {
		t.Errorf("no values: %g ± %g", m, sd)
	}
	if o := NewOneWay([]float64{1, 2}, nil); !math.IsNaN(o.F) || !math.IsNaN(o.WithinSS) {
		t.Errorf("an empty group: %+v", o)
	}
	if o := NewOneWay([]float64{1, 2}, []float64{3}); o.WithinDF != 1 || o.N0 != 4.0/3 {
		t.Errorf("one-way of three values: %+v", o)
	}
}
