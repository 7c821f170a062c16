package choose

import (
	"math"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// Wrong calls of methods whose steps are wide beside a need from 2 to 6, waters evenly from 0 to 8, by hand. A display in whole units that
// hardly scatters leaves what reads 1.5 to 6.5: 1/16 of waters below and above each, and acts on none that is right. Told by its error, as
// normal scatter, that was 1.4, 2.4 and 3.2 of 100 in made-up trials where counting says 6.3, 6.2 and none; now 5.3, 7 and none. Half a unit
// too high and corrected it leaves what shows 3 to 6 and is 2 to 6. Whole drops leave what is above one drop; a chart with 2.5 and 5 at a
// quarter of the gap what looks like more than 1.875 and less than 6.25. A sheet that dilutes fourfold above 5 shows 6 of what lies below 7 there.
func TestWrongCallsInSteps(t *testing.T) {
	for _, x := range []struct {
		name                     string
		m                        knownwater.Method
		bias                     float64
		corrected                bool
		below, above, falseAlarm float64
	}{
		{"whole units", knownwater.Method{Kind: knownwater.Display, Resolution: 1}, 0, false, 0.5, 0.5, 0},
		{"whole units, low", knownwater.Method{Kind: knownwater.Display, Resolution: 1}, -0.5, false, 0, 1, 0},
		{"whole units, high, corrected", knownwater.Method{Kind: knownwater.Display, Resolution: 1}, 0.5, true, 0, 0, 0},
		{"hundredths", knownwater.Method{Kind: knownwater.Display, Resolution: 0.01}, 0, false, 0.005, 0.005, 0},
		{"drops", knownwater.Method{Kind: knownwater.Drops, DropValue: 1}, 0, false, 1, 0, 0},
		{"drops, corrected", knownwater.Method{Kind: knownwater.Drops, DropValue: 1}, 0, true, 0, 0, 0},
		{"chart", knownwater.Method{Kind: knownwater.Chart, Swatches: []float64{0, 2.5, 5, 10}, AtShare: 0.25}, 0, false, 0.125, 0.25, 0},
		{"diluted above 5", knownwater.Method{Kind: knownwater.Display, Resolution: 0.5, DilutionOver: 5, DilutionFactor: 4}, 0, false, 0.25, 1, 0},
	} {
		const sd = 0.01
		m := x.m
		m.Name = "Meter"
		trial := trialOf(madeUp{method: m, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5})
		f := &trial.Findings.Methods[0]
		for _, c := range []float64{0, 4, 10} {
			f.Levels = append(f.Levels, assess.LevelFinding{Level: c, Bias: num.Number(x.bias), SD: sd})
		}
		if m.DilutionOver > 0 {
			dilutesAbove5(&trial)
		}
		n := need
		n.WrongBelow, n.WrongAbove, n.FalseAlarm = 1, 1, 1
		seen := false
		for _, w := range chosen(t, n, trial).Ways {
			if w.Corrected != x.corrected || w.Dilution != 0 && m.DilutionOver > 0 {
				continue
			}
			seen = true
			for what, pair := range map[string][2]float64{"below": {float64(w.Loss.Below), x.below}, "above": {float64(w.Loss.Above), x.above}, "false alarms": {float64(w.Loss.FalseAlarm), x.falseAlarm}} {
				if math.Abs(pair[0]-pair[1]/8) > 0.0025 { // scatter at both ends: 2·0.01·0.4 ÷ 8, and the integral over jumps
					t.Errorf("%s: %s %.4f, by hand %.4f", x.name, what, pair[0], pair[1]/8)
				}
			}
		}
		if !seen {
			t.Errorf("%s: no such way", x.name)
		}
	}
}

// dilutesAbove5 has a trial's method read fourfold diluted above 5 as it does undiluted.
func dilutesAbove5(t *Trial) {
	diluted := t.Findings.Methods[0]
	diluted.Dilution = 4
	t.Findings.Methods = append(t.Findings.Methods, diluted)
	t.Findings.Procedures[0].Branches = []assess.Branch{{Dilution: 1, To: 5}, {Dilution: 4, From: 5, To: num.None}}
}
