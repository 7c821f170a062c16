package report

import (
	"math"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/num"
)

func TestVerdictWords(t *testing.T) {
	n := num.None
	good := assess.ErrorWithin{WorstAt: 4, Error95: .62, Low: .5, High: .81, Permitted: 1}
	bad := assess.ErrorWithin{WorstAt: 8, Error95: 2.1, Low: 1.8, High: 2.6, Permitted: 1.5}
	gone := assess.ErrorWithin{WorstAt: n, Error95: n, Low: n, High: n, Permitted: n}
	for _, c := range []struct {
		n         assess.NeedFinding
		says, not string
	}{
		{assess.NeedFinding{Verdict: assess.Fit, Raw: good, Corrected: good}, "Fit as it is read. Of 100 single results, 95 lie within ±0.62 mg/L NO3 of the truth (95 % interval 0.50 to 0.81) at 4, the worst place, where ±1 is permitted.", ""},
		{assess.NeedFinding{Verdict: assess.FitWhenCorrected, Raw: bad, Corrected: good}, "Fit when corrected, not as it is read. Corrected by its own record", "corrected or not"},
		{assess.NeedFinding{Verdict: assess.NotFit, Raw: bad, Corrected: bad}, "Not fit, corrected or not.", ""},
		{assess.NeedFinding{Verdict: assess.NotFit, Raw: bad, Corrected: gone}, "Not fit as it is read.", "corrected or not"},
		{assess.NeedFinding{Verdict: assess.Undecided, Raw: gone, Corrected: gone}, "Undecided. These readings do not say", "±"},
		{assess.NeedFinding{Verdict: assess.Undecided, Raw: bad, Corrected: gone}, "what a correction would do cannot be computed", ""},
	} {
		got := verdictOn(c.n, "mg/L NO3").String()
		if !strings.Contains(got, c.says) || c.not != "" && strings.Contains(got, c.not) {
			t.Errorf("%s: %s", c.n.Verdict, got)
		}
	}
}

func TestSettleOnlySpeaksOfTheUndecided(t *testing.T) {
	if s := settle(assess.NeedFinding{Verdict: assess.Fit, MoreTests: 4}); s != "" {
		t.Error(s)
	}
	if s := settle(assess.NeedFinding{Verdict: assess.Undecided, MoreTests: 17.2}); s != "About 18 more tests like these, spread evenly over the knowns, settle it in 4 of 5 cases." {
		t.Error(s)
	}
	if s := settle(assess.NeedFinding{Verdict: assess.Undecided, MoreTests: num.None}); !strings.Contains(s, "not expected") {
		t.Error(s)
	}
}

// Equivalence is only said where every known of the need has its 90 % interval inside the
// margin; otherwise the interval is told, and where it reaches farthest out.
func TestTechniqueWords(t *testing.T) {
	x := assess.TechniqueFinding{From: "careless", To: "timed", Apart: assess.Apart{Difference: num.None, Low: -1.4, High: 1.6, Low90: -1.2, High90: 1.3}, Margin: 1.2, Verdict: assess.Undecided}
	x.ByLevel = []assess.TechniqueAt{{Level: 6, Apart: x.Apart, Permitted: 1.2}}
	if s := techniqueWords(x, "mg/L NO3").String(); !strings.HasPrefix(s, "Undecided: timed instead of careless changes the average reading by −1.4 to +1.6 mg/L NO3") {
		t.Error(s)
	}
	x.Apart = assess.Apart{Difference: -.06, Low: -.4, High: .28, Low90: -.34, High90: .22}
	x.Verdict, x.ByLevel[0].Apart = assess.SameForNeed, x.Apart
	if s := techniqueWords(x, "mg/L NO3").String(); !strings.Contains(s, "90 % interval, −0.34 to +0.22, lies inside the margin of ±1.2") {
		t.Error(s)
	}
	x.ByLevel = append(x.ByLevel, assess.TechniqueAt{Level: 9, Apart: assess.Apart{Difference: 1, Low: -.1, High: 2.1, Low90: .1, High90: 1.9}, Permitted: 1.5}, assess.TechniqueAt{Level: 30, Apart: assess.Apart{Difference: 9, Low: 8, High: 10, Low90: 8, High90: 10}, Permitted: num.None})
	x.Verdict = assess.Undecided
	if s := techniqueWords(x, "mg/L NO3").String(); !strings.Contains(s, "; at 9 by +0.1 to +1.9 (90 %), where the need’s margin is ±1.5. Too few") {
		t.Error(s)
	}
}

func TestSpreadIsNeverZero(t *testing.T) {
	n := num.None
	for _, c := range []struct {
		sd, low, high num.Number
		want          string
	}{
		{.36, .25, .56, "0.36 (0.25 to 0.56)"},
		{.13, 0, .29, "0.13 (at most 0.29)"},
		{.03, .002, .11, "0.03 (at most 0.11)"},
		{0, 0, .47, "at most 0.47"},
		{n, 0, .086, "at most 0.086"},
		{0, 0, 0, none},
		{n, n, n, none},
	} {
		if got := spread(c.sd, c.low, c.high).String(); got != c.want {
			t.Errorf("%v %v %v: %q, want %q", c.sd, c.low, c.high, got, c.want)
		}
	}
}

func TestNumbers(t *testing.T) {
	n := num.None
	for _, c := range []struct{ got, want string }{
		{number(6.1234, 5.43, 6.89).String(), "6.1 (5.4 to 6.9)"},
		{number(6.1234, 6.02, 6.31).String(), "6.12 (6.02 to 6.31)"},
		{signed(.02, -.123, .181).String(), "+0.02 (−0.12 to +0.18)"},
		{signed(0, -1, 1).String(), "0.0 (−1.0 to +1.0)"},
		{number(n, 3.1, 6.9).String(), "3.1 to 6.9"},
		{number(n, n, 6.9).String(), "at most 6.9"},
		{number(134, 90, 180).String(), "130 (90 to 180)"},
		{number(n, n, n).String(), none},
		{number(2.14, 2.14, 2.14).String(), "2.14"},
		{two(.0123), "0.012"}, {two(8.08), "8.1"}, {brief(1), "1"}, {brief(5.09), "5.1"}, {brief(16), "16"}, {brief(120), "120"}, {two(123), "120"}, {two(0), "0"},
		{typed(3.13, .011), "3.13"}, {typed(12.1683, .05), "12.17"}, {typed(40, .2), "40"},
		{count(1234567), "1,234,567"}, {count(12), "12"},
		{percent(1), "> 99"}, {percent(0), "< 1"}, {percent(.87), "87"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

func TestFullMakesASentence(t *testing.T) {
	for in, want := range map[string]string{"": "", " no blank was tested": "No blank was tested.", "Fine.": "Fine.", "über 3": "Über 3.", "\x1b": ""} {
		if got := full(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

// The photometer with a curve of its own (common practice, no source): read
// 0.6913 at dilution 8 where 5 is known is 110.6 %.
func TestASingleReadingIsToldWithItsShare(t *testing.T) {
	l := assess.LevelFinding{Level: 5, N: 1, MidpointMean: 5.5304, Seen: []assess.SeenReading{{Text: "0.6913", Low: 5.53, High: 5.5308, Count: 1}}}
	if got := readAs(l, 8); got != "read 0.6913 × 8, 110.6 %" {
		t.Error(got)
	}
	l.Level = 0
	if got := readAs(l, 1); got != "read 0.6913" {
		t.Error(got)
	}
}

func TestOneWaterIsNotSaidWithEveryMethod(t *testing.T) {
	f := assess.Findings{Methods: []assess.MethodFinding{{Method: "a", Matrix: "salt"}, {Method: "b", Matrix: "salt"}}}
	if got := nameOf(oneWater(f).Methods[1]); got != "b" || f.Methods[1].Matrix != "salt" {
		t.Errorf("%q, %q", got, f.Methods[1].Matrix)
	}
	f.Methods[0].Matrix = "pure"
	if got := nameOf(oneWater(f).Methods[1]); got != "b (in salt)" {
		t.Errorf("%q", got)
	}
}

func TestLackOfFit(t *testing.T) {
	for _, c := range []struct {
		p     num.Number
		shape string
		want  string
	}{
		{.63, "line", "lack of fit p = 0.63: the levels do not contradict a straight line"},
		{.05, "line", "lack of fit p = 0.050: the levels do not contradict a straight line"},
		{.049, "saturating", "lack of fit p = 0.049: the levels do not lie on a straight line"},
		{.081, "saturating", "lack of fit p = 0.081"},
		{.0002, "dead zone", "lack of fit p < 0.001: the levels do not lie on a straight line"},
	} {
		if got := lackOfFit(c.p, c.shape); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestPlusMinus(t *testing.T) {
	for _, c := range []struct {
		e    estimate
		want string
	}{
		{estimate{"1.8", "1.5 to 2.3"}, "±1.8 mg/L (1.5 to 2.3)"},
		{estimate{"", "at least 0.76"}, "±0.76 mg/L or more"},
		{estimate{"", "at most 3"}, "±3 mg/L or less"},
		{estimate{"", "1 to 3"}, "±1 to 3 mg/L"},
		{estimate{}, ""},
	} {
		if got := c.e.plusMinus("mg/L"); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestReadsInWords(t *testing.T) {
	reads := func(sides []string, v ...float64) note.Note { // from, to, first, last of each
		n := note.New("reads").Name("side", sides...)
		var by [4][]float64
		for i := range sides {
			for k := range by {
				by[k] = append(by[k], v[4*i+k])
			}
		}
		return n.Number("from", by[0]...).Number("to", by[1]...).Number("first", by[2]...).Number("last", by[3]...).Number("ends", 0, 50)
	}
	for _, c := range []struct {
		n    note.Note
		want string
	}{
		{reads([]string{"high", "open", "low"}, 0, 0, 0.021, 0.021, 1, 1, -0.05, -0.05, 2, 50, -0.3, -7.5),
			"Reads high near zero (at 0), by about 0.021; at 1 neither high nor low is shown; reads low from 2 up, by about 15 %."},
		{reads([]string{"high", "right", "low"}, 0, 1, 4, 2.4, 5, 5, -0.2, -0.2, 10, 50, -1.8, -22),
			"Reads high near zero, up to 1, by about 4.0 to 2.4; reads right at 5, within 5 %; reads low from 10 up, by about 18 % to 44 %."},
		{reads([]string{"open", "low"}, 0, 5, 0, -0.4, 10, 50, -1.8, -7.5).Number("alone_low", 1, 5).Number("alone_high", 2),
			"Near zero, up to 5 neither high nor low is shown; reads low from 10 up, by about 16 %; the readings at 1 and 5 by themselves look low, which at one known of several may be chance; " +
				"the readings at 2 by themselves look high, which at one known of several may be chance."},
		{reads([]string{"low"}, 0, 50, 0, -20), "Reads low throughout, from 0 to 50, by about 0 at 0 to 40 % at 50."},
		{reads([]string{"low"}, 20, 50, -4, -26), "Reads low from 20 up, by about 20 % to 52 %."},
		{reads([]string{"high"}, 1, 50, 4, 12), "Reads high from 1 up, by about 4.0 at 1 to 24 % at 50."},
	} {
		got, others := readsOf(assess.MethodFinding{Notes: []note.Note{note.Told("first"), c.n}})
		if got != c.want || len(others) != 1 {
			t.Errorf("%s\nwant %s (%d other notes)", got, c.want, len(others))
		}
	}
}

func TestReadBackWords(t *testing.T) {
	n := num.None
	below, above := "below", "above"
	for _, c := range []struct {
		r    assess.ReadBack
		want string
	}{
		{assess.ReadBack{Level: 5.3, Low: 3.9, High: 7.2}, "3.9 to 7.2 mg/L NO3, best 5.3"},
		{assess.ReadBack{Level: n, Low: n, High: 1.93, Open: &below}, "below 1.9 mg/L NO3"},
		{assess.ReadBack{Level: n, Low: 41, High: n, Open: &above}, "above 41 mg/L NO3"},
		{assess.ReadBack{Level: n, Low: 0, High: 2.7, Parts: [][2]num.Number{{0, 1.1}, {1.6, 2.7}}}, "0.0 to 1.1, or 1.6 to 2.7 mg/L NO3"},
		{assess.ReadBack{Level: n, Low: 2, High: 3}, "2.0 to 3.0 mg/L NO3"},
		{assess.ReadBack{Level: n, Low: n, High: n}, "cannot be turned round"},
	} {
		if got := readBackWords(c.r, "mg/L NO3"); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// The headline names what would do beyond the limits, and what nothing does.
func TestHeadline(t *testing.T) {
	fit := assess.ErrorWithin{Verdict: assess.Fit, WorstAt: 4, Error95: .5, Low: .4, High: .6, Permitted: 1}
	no := false
	all := []used{{name: "A", method: knownwater.Method{Minutes: 11}, needs: []assess.NeedFinding{
		{Need: "slow", Verdict: assess.Fit, Raw: fit, WithinLimits: &no}, {Need: "high", Verdict: assess.Fit, Raw: fit}, {Need: "rise", Verdict: assess.NotFit}},
		over: 8, factor: 8}}
	trial := knownwater.Trial{Needs: []knownwater.Need{{Name: "slow", Low: 1, High: 6, MinutesAtMost: 10}, {Name: "high", Low: 4, High: 20}, {Name: "rise"}}}
	var picks []pick
	for _, n := range trial.Needs {
		picks = append(picks, english.pickFor(n.Name, all, trial))
	}
	got := strings.Join(english.headOf(picks, all, 0), " ")
	want := "Use A, diluted ×8 from 8 up for “high”. For “slow” A would do, but takes 11 minutes; you asked for 10. No method is shown to be good enough for “rise”."
	if got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
}

// An interval of next to nothing does not make up digits.
func TestNoMadeUpDigits(t *testing.T) {
	if got := number(1.9181841, 1.9181830, 1.9181853).String(); got != "1.92" {
		t.Errorf("got %s", got)
	}
}

// Of one straight line there is one slope: "from 1 to 1" was said of drops at whole steps.
func TestOneStraightLine(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      string
	}{
		{1, 1, "A straight line without any scatter passes through all the readings; its slope is 1."},
		{1.0001, 1.0002, "A straight line without any scatter passes through all the readings; its slope is 1."},
		{0.95, 1.05, "Straight lines without any scatter pass through all the readings; their slopes go from 0.95 to 1.05."},
	} {
		if got := Say(note.New("straight-through").Number("slope", c.low, c.high)); got != c.want {
			t.Errorf("%g to %g: %s, want %s", c.low, c.high, got, c.want)
		}
	}
}

// A method that drifts is said to: what it reads is that of the last check.
func TestADriftInWords(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC) }
	c := history.Checks{Method: "Meter", Known: 10, Entries: make([]history.Entry, 30), SignalAt: day(20),
		Onset: &history.Onset{Best: day(8), From: day(1), To: day(12), Ratio: 0.8, Low: 0.74, High: 0.86}}
	c.Chart.State, c.Chart.Rule = control.Moved, control.RunningSum
	for drifts, want := range map[bool][2]string{
		false: {"it reads 80 % of what it should (74 % to 86 %), since some day between 1 May 2026 and 12 May 2026, most likely 8 May 2026, or since earlier if little by little before.", "Meter reads 80 % of what it should (74 % to 86 %) since about 8 May, by its checks of 10."},
		true:  {"it has drifted since some day between 1 May 2026 and 12 May 2026, most likely 8 May 2026, or since earlier if more slowly at first, and by the last check reads 80 % of what it should (74 % to 86 %).", "Meter drifts: by its last check it reads 80 % of what it should (74 % to 86 %); it began about 8 May or earlier, by its checks of 10."},
	} {
		c.Onset.Drifts = drifts
		if got := ChecksSay(nil, c); !strings.Contains(got, want[0]) {
			t.Errorf("%s, want %s", got, want[0])
		}
		if got := ChecksAlert(nil, c); got != want[1] {
			t.Errorf("%s, want %s", got, want[1])
		}
	}
	for lot, want := range map[string][2]string{"": {"Meter, read by Bert, known 10,", "Meter, read by Bert, drifts:"}, "L1": {"Meter, lot L1, read by Bert, known 10,", "Meter, lot L1, read by Bert, drifts:"}} {
		his := c
		his.Lot, his.Reader, his.Onset = lot, "Bert", &history.Onset{Best: day(8), Ratio: 0.8, Low: 0.74, High: 0.86, Drifts: true}
		if got := ChecksSay(nil, his); !strings.HasPrefix(got, want[0]) {
			t.Errorf("%s, want %s", got, want[0])
		}
		if got := ChecksAlert(nil, his); !strings.HasPrefix(got, want[1]) {
			t.Errorf("%s, want %s", got, want[1])
		}
	}
	since := "it read otherwise since some day between 1 May 2026 and 12 May 2026, most likely 8 May 2026, and "
	c.Onset.Back = true
	if got, want := ChecksSay(nil, c), since+"by the last checks likely as it should again: its results wait until more checks make that sure."; !strings.Contains(got, want) {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := ChecksAlert(nil, c), "Meter read otherwise for a while from about 8 May on, and by the last of its checks of 10 likely as it should again."; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	c.Onset.Again = day(60)
	c.Since = &history.Checks{Method: "Meter", Known: 10, Entries: make([]history.Entry, 7), Chart: control.Chart{State: control.Undecided, Signal: -1}, Ratio: math.NaN()}
	if got, want := ChecksSay(nil, c), since+"as it should again from 29 June 2026 at the latest. Results between wait, and those from 29 June 2026 on are told again. 7 checks since then: nothing rang, which is too few checks"; !strings.Contains(got, want) {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := ChecksAlert(nil, c), "Meter read otherwise from about 8 May on, and by its checks of 10 as it should again from 29 June at the latest: results between wait."; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	c.Since.Chart.State = control.Holds
	if got := ChecksAlert(nil, c); got != "" {
		t.Errorf("of a method that was away and holds: %s", got)
	}
}
