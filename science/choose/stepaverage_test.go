package choose

import (
	"math"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// Wrong calls of averages by methods whose steps are wide, beside a need from 2 to 6 and waters evenly from 0 to 8, against tests that are
// made up, written down and counted. By their errors, as normal scatter, 1 to 2 of 100 were said to be left below and above, of charts and
// drops that hardly scatter 4 to 11 are. Of two readings by one reader of a sitting, all of whose scatter is the reader's, one says as much as both.
func TestWrongCallsOfAveragesInSteps(t *testing.T) {
	units := knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 1}
	for _, x := range []struct {
		name   string
		m      knownwater.Method
		sd     float64
		shared bool
	}{
		{"whole units", units, 0.05, false},
		{"whole units that scatter", units, 0.5, false},
		{"whole units, one reader's scatter", units, 0.5, true},
		{"tenths", knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.1}, 0.5, false},
		{"drops", knownwater.Method{Name: "Meter", Kind: knownwater.Drops, DropValue: 1}, 0.3, false},
		{"chart", knownwater.Method{Name: "Meter", Kind: knownwater.Chart, Swatches: []float64{0, 1, 3, 6, 10, 20}, AtShare: 0.25}, 0.3, false},
		{"diluted above 5", knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.5, DilutionOver: 5, DilutionFactor: 4}, 0.2, false},
	} {
		of := func(n int) assess.Average {
			return assess.Average{N: n, Readers: 1, Verdict: assess.Fit, WorstAt: 2, Error95: 0.4, Low: 0.3, High: 0.5, Permitted: 1}
		}
		trial := trialOf(madeUp{method: x.m, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5, averages: []assess.Average{of(2), of(3)}})
		f := &trial.Findings.Methods[0]
		f.Levels = []assess.LevelFinding{{Level: 0, SD: num.Number(x.sd)}, {Level: 8, SD: num.Number(x.sd)}}
		f.Spread.RepeatabilitySD = num.Number(x.sd)
		if x.shared {
			f.Spread.RepeatabilitySD, f.Spread.ReaderSD = 0, num.Number(x.sd)
		}
		if x.m.DilutionOver > 0 {
			dilutesAbove5(&trial)
		}
		n := need
		n.WrongBelow, n.WrongAbove, n.FalseAlarm = 1, 1, 1
		said := 0
		for _, w := range chosen(t, n, trial).Ways {
			if w.Corrected || w.Tests < 2 {
				continue
			}
			said++
			below, above, falseAlarm := counted(x.m, x.sd, w.Tests, x.shared)
			for what, pair := range map[string][2]float64{"below": {float64(w.Loss.Below), below}, "above": {float64(w.Loss.Above), above}, "false alarms": {float64(w.Loss.FalseAlarm), falseAlarm}} {
				if !(math.Abs(pair[0]-pair[1]) <= 0.011) { // three standard errors of 8 000
					t.Errorf("%s, %d tests: %s %.4f, counted %.4f", x.name, w.Tests, what, pair[0], pair[1])
				}
			}
		}
		if said != 2 {
			t.Errorf("%s: %d averages", x.name, said)
		}
	}
}

// counted are the shares of waters from 0 to 8 left below 2 and above 6, and of right ones acted on, by averages of what is shown.
func counted(m knownwater.Method, sd float64, tests int, shared bool) (below, above, falseAlarm float64) {
	const waters = 8_000
	rng, answers := num.Source(11, uint64(tests)), reading.Answers(m, 30)
	show := func(y float64) float64 {
		seen, err := reading.Understand(reading.Show(math.Max(0, y), m), m)
		if err != nil {
			panic(err)
		}
		for _, a := range answers {
			if a.Seen == seen {
				return a.Value
			}
		}
		return (seen.Low + seen.High) / 2
	}
	for range waters {
		c, sum, z := 8*rng.Float64(), 0.0, rng.NormFloat64()
		for range tests {
			if !shared {
				z = rng.NormFloat64()
			}
			y := show(c + sd*z)
			if m.DilutionOver > 0 && y > m.DilutionOver {
				y = m.DilutionFactor * show((c+sd*rng.NormFloat64())/m.DilutionFactor)
			}
			sum += y / float64(tests)
		}
		switch left := sum > 2-1e-9 && sum < 6+1e-9; {
		case c < 2 && left:
			below += 1. / waters
		case c > 6 && left:
			above += 1. / waters
		case c >= 2 && c <= 6 && !left:
			falseAlarm += 1. / waters
		}
	}
	return below, above, falseAlarm
}

// Where the ends of a need lie on answers what the trial turned these round to says on which side they come out: of a display in whole
// units that hardly scatters 2 is 2.01 and left, and 6 is 6.01 and acted on, whatever the known at 6 says alone. The chart shows 6
// from 5.25 to 7, of which the middle is more than 6.
func TestCorrectedAnswersAtTheEndsOfANeed(t *testing.T) {
	for _, x := range []struct {
		name                     string
		m                        knownwater.Method
		back                     []assess.ReadBack
		below, above, falseAlarm float64
	}{
		{"whole units", knownwater.Method{Kind: knownwater.Display, Resolution: 1}, []assess.ReadBack{{Reading: "1", Level: 1.01}, {Reading: "2", Level: 2.01}, {Reading: "6", Level: 6.01}}, 0.5, 0, 0.5},
		{"the other way", knownwater.Method{Kind: knownwater.Display, Resolution: 1}, []assess.ReadBack{{Reading: "2", Level: 1.99}, {Reading: "6", Level: 5.99}, {Reading: "7", Level: 6.99}}, 0, 0.5, 0.5},
		{"chart", knownwater.Method{Kind: knownwater.Chart, Swatches: []float64{0, 1, 3, 6, 10, 20}, AtShare: 0.25}, []assess.ReadBack{{Reading: "1", Level: 1.1}, {Reading: "1..3", Level: 2}, {Reading: "6", Level: 6.1}}, 0.5, 0, 0.75},
	} {
		m := x.m
		m.Name = "Meter"
		trial := trialOf(madeUp{method: m, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5})
		f := &trial.Findings.Methods[0]
		f.ReadBack = x.back
		for _, c := range []float64{0, 4, 10} {
			f.Levels = append(f.Levels, assess.LevelFinding{Level: c, SD: 0.01})
		}
		n := need
		n.WrongBelow, n.WrongAbove, n.FalseAlarm = 1, 1, 1
		for _, w := range chosen(t, n, trial).Ways {
			if !w.Corrected {
				continue
			}
			for what, pair := range map[string][2]float64{"below": {float64(w.Loss.Below), x.below}, "above": {float64(w.Loss.Above), x.above}, "false alarms": {float64(w.Loss.FalseAlarm), x.falseAlarm}} {
				if math.Abs(pair[0]-pair[1]/8) > 0.0025 {
					t.Errorf("%s: %s %.4f, by hand %.4f", x.name, what, pair[0], pair[1]/8)
				}
			}
		}
	}
}
