package choose

import (
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// dilutes is a trial of a method whose sheet dilutes ×4 above 5, fit undiluted and diluted, off by bias at each known.
func dilutes(m knownwater.Method, bias float64) Trial {
	m.DilutionOver, m.DilutionFactor = 5, 4
	t := trialOf(madeUp{method: m, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5})
	f := &t.Findings
	f.Procedures[0].Branches = []assess.Branch{{Dilution: 1, To: 5}, {Dilution: 4, From: 5, To: num.None}}
	plain := f.Methods[0]
	diluted := plain
	diluted.Dilution = 4
	for _, c := range []float64{2, 6} {
		l := assess.LevelFinding{Level: c, Bias: num.Number(bias)}
		plain.Levels, diluted.Levels = append(plain.Levels, l), append(diluted.Levels, l)
	}
	f.Methods = []assess.MethodFinding{plain, diluted}
	return t
}

// What the sheet dilutes was tested undiluted before. By hand, 12 answers a month at 0.5 a test are 72: of waters from 2 to 6
// a quarter lies above 5 and takes two tests, so 90; of waters from 6 to 10 all do, 144; where they usually lie from 0 to 4
// none does, but one that does takes as long; of a method that reads 1 high half of the waters from 2 to 6 read more than 5.
// Always diluted it is one test.
func TestTheSheetTestsTwiceWhatItDilutes(t *testing.T) {
	m := knownwater.Method{Name: "Meter", PackPrice: 25, PackTests: 50, Minutes: 6, HandsOnMinutes: 2, WasteML: 10}
	for _, c := range []struct {
		name          string
		low, high     float64
		usual         [2]float64
		bias          float64
		money         float64
		least, longer float64
	}{
		{"a quarter", 2, 6, [2]float64{}, 0, 90, 6, 12},
		{"all", 6, 10, [2]float64{}, 0, 144, 12, 12},
		{"none", 2, 5, [2]float64{}, 0, 72, 6, 6},
		{"none as a rule", 2, 6, [2]float64{0, 4}, 0, 72, 6, 12},
		{"half", 2, 6, [2]float64{}, 1, 108, 6, 12},
	} {
		n := need
		n.Low, n.High, n.Usual, n.MinutesAtMost = c.low, c.high, c.usual, 11
		out := chosen(t, n, dilutes(m, c.bias))
		seen := 0
		for _, w := range out.Ways {
			if !w.Tried || w.Corrected {
				continue
			}
			seen++
			want, least, longer := c.money, c.least, c.longer
			if w.Dilution != 0 {
				want, least, longer = 72, 6, 6
			}
			near(t, c.name+": money", w.Cost.Money, want)
			near(t, c.name+": waste", w.Cost.WasteML, 20*want)
			near(t, c.name+": minutes", w.Cost.Minutes, longer)
			near(t, c.name+": hands on", w.Cost.HandsOn, longer/3)
			near(t, c.name+": least minutes", w.Cost.Least, least)
			if w.Inside() != (longer <= 11) || !w.Inside() && w.Beyond[0].Code != "beyond-minutes-diluted" {
				t.Errorf("%s: %v minutes of 11: %v", c.name, longer, w.Beyond)
			}
		}
		if seen != 3 {
			t.Fatalf("%s: %d ways of one test as read, want 3", c.name, seen)
		}
		if w, ok := out.Used(); !ok || c.longer > 11 && w.Dilution == 0 {
			t.Errorf("%s: uses %+v", c.name, w.Use)
		}
	}
}

// A bias leaves a water on one side and calls on the other. By hand: results half a unit low that hardly scatter leave of waters evenly from 0 to 8
// those from 6 to 6.5 and act on those from 2 to 2.5, 1/16 each, and leave none below 2; corrected they do neither. Where
// waters lie from 4 to 8 as a rule it is an eighth, and no false alarm.
func TestWrongCallsOfABias(t *testing.T) {
	m := knownwater.Method{Name: "Meter", PackPrice: 25, PackTests: 50}
	trial := trialOf(madeUp{method: m, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5})
	f := &trial.Findings.Procedures[0].Needs[0]
	for i := range f.Along {
		f.Along[i].Raw, f.Along[i].Corrected = 0.501, 0.001
	}
	for _, c := range []float64{2, 4, 6} {
		trial.Findings.Methods[0].Levels = append(trial.Findings.Methods[0].Levels, assess.LevelFinding{Level: c, Bias: -0.5})
	}
	n := need
	n.WrongBelow, n.WrongAbove, n.FalseAlarm = 1, 1, 1
	for _, c := range []struct {
		usual                    [2]float64
		corrected                bool
		below, above, falseAlarm float64
	}{
		{[2]float64{}, false, 0, 1. / 16, 1. / 16},
		{[2]float64{4, 8}, false, 0, 1. / 8, 0},
		{[2]float64{}, true, 0, 0, 0},
	} {
		n.Usual = c.usual
		for _, w := range chosen(t, n, trial).Ways {
			if w.Corrected != c.corrected {
				continue
			}
			for _, x := range []struct {
				what string
				got  num.Number
				want float64
			}{{"below", w.Loss.Below, c.below}, {"above", w.Loss.Above, c.above}, {"false alarms", w.Loss.FalseAlarm, c.falseAlarm}} {
				if !(float64(x.got) >= x.want-0.001 && float64(x.got) <= x.want+0.001) {
					t.Errorf("usual %v, corrected %v: %s %.4f, want %.4f", c.usual, c.corrected, x.what, x.got, x.want)
				}
			}
		}
	}
}

// A single result scatters as the errors along the need say, an average less, by as much as its own error at the worst place is less than
// theirs there: by hand 0.98 and 1.96 at the ends, 1.47 between them, of which 0.5 is a share of 0.34.
func TestAnAverageScattersLess(t *testing.T) {
	w := Way{Along: []assess.AlongNeed{{At: 2, Raw: 0.98}, {At: 6, Raw: 1.96}}, Error: Error{WorstAt: 4, Error95: 0.5}}
	for tests, share := range map[int]float64{1: 1, 2: 0.5 / 1.47} {
		w.Tests = tests
		_, sd, ok := w.behaves()
		if !ok {
			t.Fatal("errors along the need say nothing")
		}
		near(t, "at the lower end", num.Number(sd(2)), share*0.98/1.959963984540054)
		near(t, "at the upper end", num.Number(sd(6)), share*1.96/1.959963984540054)
	}
}

// The scatter that leaves 95 of 100 within an error beside a bias: none beside, it is the error ÷ 1.96; beside one of many scatters
// all misses lie on one side, and it is what is left ÷ 1.645; an estimate beyond the error is cut.
func TestScatterBesideABias(t *testing.T) {
	near(t, "no bias", num.Number(scatter(1, 0)), 1/1.959963984540054)
	near(t, "a bias", num.Number(scatter(1, -0.9)), 0.1/1.6448536269514722)
	near(t, "too large a bias", num.Number(scatter(1, 3)), 0.02/1.6448536269514722)
}
