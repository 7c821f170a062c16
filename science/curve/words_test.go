package curve

import (
	"math"
	"regexp"
	"strings"
	"testing"
)

// TestShiftWords: level, new level and both ends of the difference stand to one
// place, so that a reader can take one from the other; minus signs are true ones.
func TestShiftWords(t *testing.T) {
	for _, tc := range []struct {
		s    Shift
		want string
	}{
		{Shift{Level: 12, New: 13.1523, Low: 1.0012, High: 1.3034}, "where the old one reads 12.00 and the new one 13.15 (+1.00 to +1.30, 95 %)"},
		{Shift{Level: 0, New: 0.002244, Low: -0.0193, High: 0.0238}, "where the old one reads 0.000 and the new one 0.002 (−0.019 to +0.024, 95 %)"},
		{Shift{Level: 8, New: -0.4, Low: -11.1, High: -5.7}, "where the old one reads 8.0 and the new one −0.4 (−11.1 to −5.7, 95 %)"},
		{Shift{Level: 4, New: 5, Low: math.NaN(), High: math.NaN()}, "where the old one reads 4 and the new one 5"},
	} {
		if got := tc.s.words(); got != tc.want {
			t.Errorf("%+v:\n got %s\nwant %s", tc.s, got, tc.want)
		}
	}
	old := mustFit(t, bent(8), Options{Shape: StrayLight, Light: true})
	words := Compare(old, old, nil).Words
	if !regexp.MustCompile(`^From 0 to [\d.]+ they differ most where the old one reads ([\d.]+) and the new one ([\d.]+) \(−0\.\d+ to \+0\.\d+, 95 %\): no difference seen\.$`).MatchString(words) {
		t.Errorf("a curve beside itself: %s", words)
	}
}

// TestRecheckWords: a slope's share and a blank's shift have the digits that
// their own doubt leaves, and true minus signs.
func TestRecheckWords(t *testing.T) {
	r := Recheck{Agree: true, Slope: 0.987654, USlope: 0.0123, SlopeLow: 0.9621, SlopeHigh: 1.0132, BlankLow: -1, BlankHigh: 1}
	r.judge(1, 0.05)
	if want := "The slope is now 98.8 % of the curve's (95 %: 96.2 to 101.3 %): it holds, within 5 %."; r.Words != want {
		t.Errorf("got  %s\nwant %s", r.Words, want)
	}
	r.Blank, r.BlankLow, r.BlankHigh = -0.0123456, -0.0154321, -0.0092591
	r.judge(1, 0.05)
	if want := "The blank has moved by −0.0123 (95 %: −0.0154 to −0.0093)"; !strings.HasPrefix(r.Words, want) {
		t.Errorf("got  %s\nwant %s", r.Words, want)
	}
}
