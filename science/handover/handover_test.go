package handover

import (
	"math"
	"testing"

	"knownwater/science/curve"
	"knownwater/science/num"
)

// A table's worst error is held against every other choice of knots.
func TestPairsAreTheBest(t *testing.T) {
	c := bent(t, 3)
	c.Range.LevelHigh, c.Range.SignalHigh = 10, c.At(10)
	d := Digits{Level: 0, Signal: 3} // levels 0 … 10: few enough to try every choice
	for n := 2; n <= 5; n++ {
		got, err := Pairs(c, n, d)
		if err != nil {
			t.Fatal(err)
		}
		level, signal := trace(c)
		best := math.Inf(1)
		var try func(at []int)
		try = func(at []int) {
			if len(at) == n-1 {
				table := Table{}
				for _, k := range append(append([]int{}, at...), 10) {
					table.Pairs = append(table.Pairs, Pair{float64(k), round(c.At(float64(k)), 3)})
				}
				worst, _ := table.added(level, signal)
				best = math.Min(best, worst)
				return
			}
			for k := at[len(at)-1] + 1; k < 10; k++ {
				try(append(append([]int{}, at...), k))
			}
		}
		try([]int{0})
		if !(math.Abs(got.Worst-best) <= 1e-12*best) {
			t.Errorf("%d pairs: worst error %g, the best choice has %g", n, got.Worst, best)
		}
		for _, e := range got.Expected {
			if !(math.Abs(e.Level-c.LevelOf(e.Signal)) <= got.Worst*1.000001) {
				t.Errorf("check sheet: %v is off by more than %g", e, got.Worst)
			}
		}
	}
	coarse, _ := Pairs(c, 5, Digits{Level: 0, Signal: 2})
	if !(coarse.Worst > coarse.Unrounded) {
		t.Error("rounding added nothing")
	}
}

func TestPolynomialForInstrument(t *testing.T) {
	c := bent(t, 4)
	last := math.Inf(1)
	for order := 1; order <= 4; order++ {
		p, err := Polynomial(c, order, Digits{Level: 2, Signal: 3, Coefficient: 6})
		if err != nil {
			t.Fatal(err)
		}
		if !(p.Worst < last) {
			t.Errorf("order %d adds %g, a lower one %g", order, p.Worst, last)
		}
		last = p.Worst
		level, signal := trace(c)
		for i := range level { // the coefficients by themselves, as an instrument would
			x := 0.0
			for j, k := range p.Coefficients {
				x += k * math.Pow(signal[i], float64(j))
			}
			if !(math.Abs(x-level[i]) <= p.Worst*(1+1e-9)) {
				t.Fatalf("at %g it shows %g", level[i], x)
			}
		}
	}
	line := fitted(t, []curve.Point{{Level: 0, Signal: 0.01, Dilution: 1}, {Level: 0, Signal: 0.012, Dilution: 1}, {Level: 5, Signal: 0.41, Dilution: 1},
		{Level: 5, Signal: 0.412, Dilution: 1}, {Level: 10, Signal: 0.81, Dilution: 1}, {Level: 10, Signal: 0.813, Dilution: 1}}, curve.Options{Shape: curve.Line, Weights: curve.Equal})
	p, _ := Polynomial(line, 1, Digits{Level: 2, Signal: 3, Coefficient: 9})
	if p.Worst > 1e-6 {
		t.Errorf("a line as a line adds %g", p.Worst)
	}
}

// Whatever curve it is, a table or a fault comes back.
func TestAnyDigits(t *testing.T) {
	c := bent(t, 25)
	for n := -1; n < 6; n++ {
		for d := range 5 {
			if table, err := Pairs(c, n, Digits{Level: d, Signal: d}); err == nil && !(table.Worst >= 0) {
				t.Errorf("%d pairs of %d digits: %+v", n, d, table)
			}
			_, _ = Polynomial(c, n, Digits{Level: d, Signal: d, Coefficient: d})
		}
	}
}

// bent are triplicates of the demo's photometer: stray light of 1 %, scatter 0.004 and 3 %.
func bent(t *testing.T, seed uint64) curve.Curve {
	t.Helper()
	r := num.Source(seed)
	var points []curve.Point
	for _, c := range []float64{0, 0.6, 1.5, 3, 6, 8, 10, 12} {
		for range 3 {
			a := 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010)
			points = append(points, curve.Point{Level: c, Signal: a + math.Hypot(0.004, 0.03*a)*r.NormFloat64(), Dilution: 1, Row: len(points) + 2})
		}
	}
	return fitted(t, points, curve.Options{Shape: curve.StrayLight, Light: true})
}

func fitted(t *testing.T, points []curve.Point, o curve.Options) curve.Curve {
	t.Helper()
	c, err := curve.Fit(points, o)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
