package assess_test

import (
	"math"
	"strings"
	"testing"

	"knownwater/science/assess"
	"knownwater/science/num"
)

// Two levels beyond a chart's last swatch, at which everybody read "more than 50", say
// nothing of how it reads up to 40: line, response and what a reading at 20 says stay.
func TestOpenLevelsDoNotBend(t *testing.T) {
	rows := [][]any{}
	for level, seen := range map[float64]string{0: "0 0 0..5", 5: "5 5 5..10", 10: "10 5..10 10", 20: "20 20 20..30", 30: "30 20..30 30", 40: "40 40 30..40"} {
		for _, s := range strings.Fields(seen) {
			rows = append(rows, []any{"Card", level, s})
		}
	}
	beyond := append(rows[:len(rows):len(rows)], []any{"Card", 60, ">50"}, []any{"Card", 60, ">50"}, []any{"Card", 60, ">50"},
		[]any{"Card", 80, ">50"}, []any{"Card", 80, ">50"}, []any{"Card", 80, ">50"})
	of := func(rows [][]any) assess.MethodFinding {
		return assessed(t, table("method,level,reading", rows...), chartFile("[0, 5, 10, 20, 30, 40, 50]"), "").Methods[0]
	}
	short, long := of(rows), of(beyond)
	if short.Shape.Name != long.Shape.Name || long.Shape.Name != "line" {
		t.Errorf("the response is %q, with open levels %q", short.Shape.Name, long.Shape.Name)
	}
	near := func(what string, a, b num.Number, tolerance float64) {
		if !(math.Abs(float64(a-b)) <= tolerance) {
			t.Errorf("%s: %v, with open levels %v (%v)", what, a, b, tolerance)
		}
	}
	near("slope", short.Line.Slope, long.Line.Slope, 0.1*float64(short.Line.SlopeSE))
	// the weights of the levels are those of draws along other points: a tenth of their own doubt, of
	// which a standard error leaves out that of the spreads
	near("intercept", short.Line.Intercept, long.Line.Intercept, 0.12*float64(short.Line.InterceptSE))
	at20 := func(m assess.MethodFinding) assess.ReadBack {
		for _, r := range m.ReadBack {
			if r.Reading == "20" {
				return r
			}
		}
		t.Fatal("nothing is said of a reading of 20")
		return assess.ReadBack{}
	}
	a, b := at20(short), at20(long)
	width := float64(a.High - a.Low)
	near("what 20 says, low", a.Low, b.Low, 0.1*width)
	near("what 20 says, high", a.High, b.High, 0.1*width)
	for _, r := range long.ReadBack { // and it never excludes a known at which it was seen
		if r.Reading == ">50" && (float64(r.Low) > 60 || r.High.OK() && float64(r.High) < 80) {
			t.Errorf("more than 50, seen at 60 and at 80, says %v to %v", r.Low, r.High)
		}
	}
}
