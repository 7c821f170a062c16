package report

import (
	"math"
	"testing"

	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// Touching a stile is undecided; only an interval wholly inside or wholly
// outside is settled.
func TestBiasVerdict(t *testing.T) {
	n := num.None
	for _, c := range []struct {
		low, high num.Number
		permitted float64
		want      chart.Verdict
	}{
		{-.9, .9, 1, chart.Within},
		{-1, .9, 1, chart.Undecided},
		{-.9, 1, 1, chart.Undecided},
		{-2, .5, 1, chart.Undecided},
		{.5, 2, 1, chart.Undecided},
		{-3, 3, 1, chart.Undecided},
		{1, 2, 1, chart.Undecided},
		{1.01, 2, 1, chart.Outside},
		{-2, -1.01, 1, chart.Outside},
		{-.9, .9, 0, chart.Plain},
		{n, .9, 1, chart.Plain},
	} {
		l := assess.LevelFinding{BiasLow: c.low, BiasHigh: c.high}
		if got := biasVerdict(l, c.permitted); got != c.want {
			t.Errorf("%v to %v against %g: %s, want %s", c.low, c.high, c.permitted, word(got), word(c.want))
		}
	}
}

func TestMarksKeepTheirEnds(t *testing.T) {
	n := num.None
	if m := mark(assess.SeenReading{Low: 2, High: 3.5, Count: 4}); m != (chart.Mark{Low: 2, High: 3.5, Count: 4}) {
		t.Errorf("%+v", m)
	}
	if m := mark(assess.SeenReading{Low: n, High: .1, Count: 1}); !math.IsInf(m.Low, -1) || m.High != .1 {
		t.Errorf("%+v", m)
	}
	if m := mark(assess.SeenReading{Low: 8, High: n, Count: 1}); !math.IsInf(m.High, 1) || m.Low != 8 {
		t.Errorf("%+v", m)
	}
}

// A need judges nothing outside its range.
func TestPermitEndsWithTheNeed(t *testing.T) {
	need := fakeNeeds[0] // 0.5 to 8, ±0.5 to ±1.5
	for level, want := range map[float64]float64{.49: 0, .5: .5, 4.25: 1, 8: 1.5, 8.01: 0} {
		if got := permit(&need, level); !(math.Abs(got-want) <= 1e-12) {
			t.Errorf("at %g: %g, want %g", level, got, want)
		}
	}
	if permit(nil, 1) != 0 {
		t.Error("no need permits nothing and forbids nothing")
	}
}
