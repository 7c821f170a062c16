package report

import (
	"testing"

	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// Beside what is permitted a limit never looks as if it lay on its other side, or on it: “7 to 15 of 15” was undecided, and
// so was “0.5 to 1 of 1”.
func TestLimitsShowOnWhichSideTheyLie(t *testing.T) {
	for _, x := range []struct {
		low, high, permitted num.Number
		want                 string
	}{
		{6.505, 15.424, 15.273, "±6.5 to 15.4 of 15.3"},
		{6.505, 15.273, 15.273, "±7 to 15 of 15"}, // it is the same
		{6.505, 12.1, 15.273, "±6.5 to 12.1 of 15"},
		{6.505, 21.4, 15.273, "±7 to 21 of 15"},
		{15.42, 40, 15.27, "±15.4 to 40.0 of 15.3"},
		{0.52, 1.004, 1, "±0.520 to 1.004 of 1"},
		{0.52, 0.9999999, 1, "±0.52 to 1.00 of 1"}, // nobody can mean so many
		{0.52, num.None, 1, "±0.52 or more of 1"},
	} {
		e := assess.ErrorWithin{WorstAt: 2, Error95: (x.low + x.high) / 2, Low: x.low, High: x.high, Permitted: x.permitted}
		if !x.high.OK() {
			e.Error95 = num.None
		}
		if got := (speech{}).withinShort(e); got != x.want {
			t.Errorf("%v to %v of %v: %s, want %s", x.low, x.high, x.permitted, got, x.want)
		}
	}
}

// So does what is told as read beside a corrected error, and its bar has the side that it lies on: one that is undecided
// as read was drawn as not fit, and “0.18 to 0.50” beside 0.5.
func TestAsReadBesideCorrected(t *testing.T) {
	of := func(verdict string, low, high num.Number) assess.ErrorWithin {
		return assess.ErrorWithin{Verdict: verdict, WorstAt: 2, Error95: (low + high) / 2, Low: low, High: high, Permitted: 0.5}
	}
	for verdict, raw := range map[chart.Verdict]assess.ErrorWithin{chart.Undecided: of(assess.Undecided, 0.1846, 0.5049), chart.Outside: of(assess.NotFit, 0.5049, 0.61)} {
		c := speech{}.cellOf(assess.NeedFinding{Verdict: assess.FitWhenCorrected, Raw: raw, Corrected: of(assess.Fit, 0.18, 0.48)})
		want := map[chart.Verdict]string{chart.Undecided: "as read ±0.185 to 0.505", chart.Outside: "as read ±0.505 to 0.610"}[verdict]
		if c.AsRead != want || len(c.bars) != 2 || c.bars[0].Verdict != chart.Within || c.bars[1].Verdict != verdict {
			t.Errorf("%v: %q, bars %+v", verdict, c.AsRead, c.bars)
		}
	}
}
