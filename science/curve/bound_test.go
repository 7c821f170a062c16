package curve

import (
	"math"
	"strings"
	"testing"

	"knownwater/science/num"
	"knownwater/science/response"
)

// made are triplicates of a signal with scatter sd.
func made(seed uint64, sd float64, levels []float64, at func(c float64) float64) (out []Point) {
	r := num.Source(seed)
	for _, c := range levels {
		for range 3 {
			out = append(out, Point{Level: c, Signal: at(c) + sd*r.NormFloat64(), Dilution: 1, Row: len(out) + 2})
		}
	}
	return out
}

func TestMeasuredUpperLimit(t *testing.T) {
	stray := func(c float64) float64 { return -math.Log10((math.Pow(10, -0.160*c) + 0.010) / 1.010) }
	for _, tc := range []struct {
		what   string
		points []Point
		o      Options
		top    float64
		why    string
	}{
		{"straight to the top", made(30, 0.003, []float64{0, 3, 6, 9, 12}, func(c float64) float64 { return 0.08 * c }), Options{Light: true}, 12, ""},
		{"stray light, 20 and 40 at the ceiling", made(31, 0.004, []float64{0, 1.5, 3, 6, 9, 12, 20, 40}, stray), Options{Light: true}, 20, "curve-too-flat"},
		{"the same through a line", made(32, 0.004, []float64{0, 1.5, 3, 6, 9, 12, 20, 40}, stray), Options{Shape: Line}, 20, "signal-saturated"},
		{"turns back at 10", made(33, 0.004, []float64{0, 2, 4, 6, 8, 12, 15}, func(c float64) float64 { return 0.2*c - 0.01*c*c }), Options{Shape: Quadratic}, 8, "turns-back"},
		// slope at 60 is b/(1 + 60/5)² = b/169; one result: 0.006/(0.2/169) = 5.1 or 8 %;
		// at 150 0.006·961/0.2 = 29 or 19 %
		{"too flat for its scatter", made(34, 0.006, []float64{0, 1, 3, 8, 20, 60, 150}, func(c float64) float64 { return 0.2 * c / (1 + c/5) }), Options{Shape: Saturating, Weights: Equal}, 60, "curve-too-flat"},
	} {
		c := mustFit(t, tc.points, tc.o)
		why := strings.Join(codes(c.Range.Why), " ")
		if c.Range.LevelHigh != tc.top || !strings.Contains(why, tc.why) || (tc.why == "") != (why == "") {
			t.Errorf("%s: up to %g, %q", tc.what, c.Range.LevelHigh, why)
		}
		if r := c.Read(Sample{Signals: []float64{c.Range.SignalHigh + 12*c.ResidualSD + 0.2}}); tc.why != "turns back" && r.Open != Above {
			t.Errorf("%s: beyond the range it reads %+v", tc.what, r)
		}
	}
}

// The knowns' own uncertainty is in the error of a check, and not in its read-back.
func TestCheckHoldsItsOwnUncertainty(t *testing.T) {
	points := bent(35)
	c := mustFit(t, points, Options{Light: true})
	check := Point{Level: 5, Signal: c.At(5), Check: true, Dilution: 1}
	sure := c.Checks([]Point{check}, nil)[0]
	check.ULevel = 1
	unsure := c.Checks([]Point{check}, nil)[0]
	if sure.Back.Low != unsure.Back.Low {
		t.Error("the read-back changed")
	}
	want := -math.Hypot(sure.Low, 1.959963984540054)
	near(t, "error's lower limit", unsure.Low, want, 1e-6)
}

// Levels at the ends are not left out: nothing reads beyond what was measured.
func TestLeftOut(t *testing.T) {
	left := LeftOut(bent(36), Options{Light: true}, StrayLight, nil)
	if len(left) != 6 {
		t.Fatalf("%d of 8 levels were left out", len(left))
	}
	agree := 0
	for _, j := range left {
		if j.Verdict == Agrees {
			agree++
		}
	}
	if agree < 5 {
		t.Errorf("%d of 6 agree", agree)
	}
	if s := (Document{LeftOut: left}).Standing(); s.Code != "judged-by-left-out" || s.Numbers["knowns"][0] != 6 || float64(s.Numbers[Agrees][0]) != float64(agree) {
		t.Errorf("%+v", s)
	}
	if s := (Document{}).Standing(); s.Code != "judged-by-nothing" {
		t.Errorf("%+v", s)
	}
}

// A curve that stands still or turns back within a range does not rise there, wherever it does so: here from 0 to 4.
func TestRising(t *testing.T) {
	for _, c := range []struct {
		name  string
		shape Shape
		coef  []float64
		want  bool
	}{
		{"a line", Line, []float64{1, 2}, true},
		{"that falls", Line, []float64{1, -2}, true}, // all one way
		{"that stands still", Line, []float64{1, 0}, false},
		{"of no slope", Line, []float64{1, math.NaN()}, false},
		{"a parabola, beyond", Quadratic, []float64{0, 9, -1}, true},
		{"that turns at 2, half way", Quadratic, []float64{0, 4, -1}, false},
		{"that turns at 2.1", Quadratic, []float64{0, 4.2, -1}, false},
		{"that turns at 0", Quadratic, []float64{0, 0, -1}, false},
	} {
		if got := rising(response.Of(c.shape), c.coef, 0, 4); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
