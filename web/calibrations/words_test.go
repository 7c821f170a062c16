package calibrations

import (
	"math"
	"strings"
	"testing"

	"knownwater/science/curve"
	"knownwater/science/note"
)

func TestLedeWords(t *testing.T) {
	known := func(level, low, high, permitted float64, verdict string) curve.Judged {
		return curve.Judged{Level: level, Low: low, High: high, Permitted: permitted, Verdict: verdict}
	}
	for name, c := range map[string]struct {
		d    curve.Document
		want string
	}{
		"the least sure by what is permitted": {curve.Document{Checks: []curve.Judged{known(1.5, -0.05, 0.113, 0.5, curve.Within), known(14, -0.28, 0.38, 2.8, curve.Within)}},
			"Judged by 2 knowns that it was not fitted to: 2 came back within the permitted error. The least sure of them, at 1.5, was read between 0.05 low and 0.11 high, of a permitted 0.5."},
		"all of it high": {curve.Document{Checks: []curve.Judged{known(1, 0.6, 0.8, 0.5, curve.OutsideIt), known(2, 0, 0.1, 0.5, curve.Within)}},
			"Judged by 2 knowns that it was not fitted to: 1 came back within the permitted error, 1 outside the permitted error. The least sure of them, at 1, was read between 0.60 and 0.80 high, of a permitted 0.5."},
		"no need, and a range that ends": {curve.Document{Curve: curve.Curve{Range: curve.Range{Why: []note.Note{note.New("curve-turns-back").Number("level", 16)}}}, Checks: []curve.Judged{known(1, -0.1, 0.1, 0, curve.Agrees)}},
			"Judged by 1 known that it was not fitted to: 1 agrees with what it holds. Above 16 the curve turns back; it isn’t used there."},
		"not read": {curve.Document{Checks: []curve.Judged{known(20, math.NaN(), math.NaN(), 0.5, curve.NotRead)}}, "Judged by 1 known that it was not fitted to: 1 lay outside the range."},
	} {
		if got := ledeWords(nil, c.d); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", name, got, c.want)
		}
	}
	if got := lowHigh(nil, -0.8, -0.6); got != "between 0.60 and 0.80 low" {
		t.Error(got)
	}
}

func TestFormulaWords(t *testing.T) {
	d := curve.Document{Curve: curve.Curve{Shape: curve.Quadratic, Coef: []float64{0.01221234, 0.067451234, -0.00063212}, Cov: [][]float64{{4e-8, 0, 0}, {0, 9e-8, 0}, {0, 0, 4e-10}}}, Conversion: curve.Conversion{Kind: curve.Absorbance}}
	if got, values := formulaOf(nil, d.Curve, d.Conversion.Kind.Light()); got != "A = 0.012212 + 0.067451 c − 0.0006321 c²" || values != "" {
		t.Errorf("%s | %s", got, values)
	}
	d.ThroughZero, d.Conversion.Kind, d.Shape, d.Coef, d.Cov = true, curve.Other, curve.Line, []float64{0, -2.5}, [][]float64{{math.NaN(), 0}, {0, math.NaN()}}
	if got, _ := formulaOf(nil, d.Curve, d.Conversion.Kind.Light()); strings.Join(strings.Fields(got), " ") != "signal = − 2.5 c" {
		t.Errorf("through zero: %q", got)
	}
}

func TestHeldWords(t *testing.T) {
	line := func(verdicts ...string) curveLine {
		c := curveLine{}
		for _, v := range verdicts {
			c.Doc.Checks = append(c.Doc.Checks, curve.Judged{Verdict: v})
		}
		return c
	}
	for name, c := range map[string]struct {
		line curveLine
		want heldWords
	}{
		"all within":    {line(curve.Within, curve.Within, curve.Within), heldWords{"3 of 3", "within", "within"}},
		"one outside":   {line(curve.Within, curve.OutsideIt, curve.Undecided), heldWords{"1 of 3", "outside", "outside"}},
		"two undecided": {line(curve.Undecided, curve.Within, curve.Undecided), heldWords{"2 of 3", "undecided", "undecided"}},
		"none":          {line(), heldWords{Count: "none"}},
		"not computed":  {curveLine{Fault: "not computed"}, heldWords{Count: "–"}},
		"one disagrees": {line(curve.Agrees, curve.Disagrees), heldWords{"1 of 2", "disagrees", "outside"}},
		"one could not": {line(curve.NotRead, curve.Agrees), heldWords{"1 of 2", "not read", ""}},
	} {
		if got := heldOut(nil, c.line); got != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}
