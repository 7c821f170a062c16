package report

import (
	"math"
	"strings"
	"testing"

	"knownwater/science/curve"
	"knownwater/science/note"
)

// TestShiftWords: level, new level and both ends of the difference stand to one
// place, so that a reader can take one from the other; minus signs are true ones.
func TestShiftWords(t *testing.T) {
	for _, tc := range []struct {
		s    curve.Shift
		want string
	}{
		{curve.Shift{Level: 12, New: 13.1523, Low: 1.0012, High: 1.3034}, "where the old one reads 12.00 and the new one 13.15 (+1.00 to +1.30, 95 %)"},
		{curve.Shift{Level: 0, New: 0.002244, Low: -0.0193, High: 0.0238}, "where the old one reads 0.000 and the new one 0.002 (−0.019 to +0.024, 95 %)"},
		{curve.Shift{Level: 8, New: -0.4, Low: -11.1, High: -5.7}, "where the old one reads 8.0 and the new one −0.4 (−11.1 to −5.7, 95 %)"},
		{curve.Shift{Level: 4, New: 5, Low: math.NaN(), High: math.NaN()}, "where the old one reads 4 and the new one 5"},
	} {
		if got := shiftWords(nil, tc.s); got != tc.want {
			t.Errorf("%+v:\n got %s\nwant %s", tc.s, got, tc.want)
		}
	}
	k := curve.Comparison{From: 0, To: 12, Worst: curve.Shift{Level: 12, New: 12, Low: -0.1, High: 0.1}, Verdict: curve.NotSeen}
	if got, want := ComparedWords(nil, k), "From 0 to 12 they differ most where the old one reads 12.00 and the new one 12.00 (−0.10 to +0.10, 95 %): no difference seen."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	k.Worst.New = math.NaN()
	if got := ComparedWords(nil, k); !strings.Contains(got, "gives no level for the old one's signals") {
		t.Error(got)
	}
	k.Part = true
	if got := ComparedWords(nil, k); !strings.HasSuffix(got, "no difference seen. The need reaches beyond the range of both curves.") {
		t.Error(got)
	}
	if got := ComparedWords(nil, curve.Comparison{From: 9, To: 4, Part: true}); got != "The need lies outside the range that the two curves have in common." {
		t.Error(got)
	}
	if got := ComparedWords(nil, curve.Comparison{From: 9, To: 4}); got != "The two curves have no range in common." {
		t.Error(got)
	}
}

// TestRecheckWords: a slope's share and a blank's shift have the digits that
// their own doubt leaves, and true minus signs.
func TestRecheckWords(t *testing.T) {
	r := curve.Recheck{Agree: true, Slope: 0.987654, USlope: 0.0123, SlopeLow: 0.9621, SlopeHigh: 1.0132, BlankLow: -1, BlankHigh: 1, Knowns: 1, Margin: 0.05, Verdict: curve.Holds}
	if got, want := RecheckWords(r), "The slope is now 98.8 % of the curve's (95 %: 96.2 to 101.3 %): it holds, within 5 %."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	r.Blank, r.BlankLow, r.BlankHigh = -0.0123456, -0.0154321, -0.0092591
	if got, want := RecheckWords(r), "The blank has moved by −0.0123 (95 %: −0.0154 to −0.0093)"; !strings.HasPrefix(got, want) {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// TestWhyAShape: the words of a choice, with the numbers that it turned on.
func TestWhyAShape(t *testing.T) {
	for _, c := range []struct {
		shape, code string
		numbers     map[string][]float64
		want        string
	}{
		{"", "line-fits", map[string][]float64{"p": {0.37}}, "A straight line fits: lack of fit p = 0.37, and no bent shape is clearly better."},
		{"stray light", "line-fails", map[string][]float64{"line_p": {0.0001}, "p": {0.4}, "left_out": {0.1, 0.35}},
			"A straight line does not fit, lack of fit p < 0.001; absorbance bent by stray light does, p = 0.4, and it reads a level that was left out to 0.1 where the line reads it to 0.35."},
		{"quadratic", "shape-better-than-line", map[string][]float64{"lower": {5.234}},
			"A quadratic describes the points clearly better than a straight line (information criterion 5.2 lower)."},
		{"cubic", "shape-asked", map[string][]float64{"p": {0.31}}, "A cubic was asked for; the replicates do not contradict it, p = 0.31."},
		{"", "no-shape-fits-means", map[string][]float64{"p": {0.0001}},
			"No simple shape fits (straight line: p < 0.001); the curve goes through the level means, never falling."},
	} {
		n := noteOf(c.code, c.shape, c.numbers)
		if got := Say(n); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.code, got, c.want)
		}
	}
	judgedOnes := []curve.Judged{{Verdict: curve.Within}, {Verdict: curve.Within}, {Verdict: curve.OutsideIt}}
	if got, want := Say(curve.Document{Checks: judgedOnes}.Standing()), "Judged by 3 knowns that it was not fitted to: 2 came back within the permitted error, 1 outside the permitted error."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := Say(curve.Document{LeftOut: judgedOnes[:1]}.Standing()); !strings.HasPrefix(got, "No known was held out. Judged by leaving out 1 level in turn, which is weaker") {
		t.Error(got)
	}
}

func noteOf(code, shape string, numbers map[string][]float64) note.Note {
	n := note.New(code)
	if shape != "" {
		n = n.Name("shape", shape)
	}
	for name, v := range numbers {
		n = n.Number(name, v...)
	}
	return n
}
