package history_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/history"
	"knownwater/science/num"
	"knownwater/science/reading"
)

var done = time.Date(2026, 4, 12, 0, 0, 0, 0, time.UTC)

// tanks are four waters at 4 to 7, tested once a week for six weeks before and six after: something that was done to
// the first two raised them by so much. lotOf names the lot that each was read with.
func tanks(by float64, lotOf func(tank, week int) string) (out []history.Entry) {
	rng := num.Source(33)
	for week := range 12 {
		for tank, name := range []string{"east", "west", "north", "south"} {
			c := 4 + float64(tank) + 0.2*rng.NormFloat64()
			if week >= 6 {
				c += 0.5 // whatever happens to all of them
				if tank < 2 {
					c += by
				}
			}
			out = append(out, history.Entry{Row: len(out) + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: name, Method: "Meter", Lot: lotOf(tank, week), Reader: "Ines",
				Reading: fmt.Sprintf("%.2f", c), Dilution: 1})
		}
	}
	return out
}

func lot1(_, _ int) string { return "L1" }

var eastWest = history.Experiment{Treated: []string{"east", "west"}, Control: []string{"north", "south"}, From: done}

func effect(t *testing.T, l []history.Entry, m history.Methods, x history.Experiment) history.Effect {
	t.Helper()
	e, err := history.EffectOf(l, m, x)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func codes(e history.Effect) (out []string) {
	for _, n := range e.Notes {
		out = append(out, n.Code)
	}
	return out
}

func TestExperiment(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}, Matters: 0.5}
	e := effect(t, tanks(2, lot1), m, eastWest)
	// an effect is called in 4 of 5 from z.975 + z.8 = 2.8 of its standard uncertainties on
	if !(e.Low < 2 && 2 < e.High && e.High-e.Low < 2) || e.Verdict != history.Raised || !(e.PRaised > 0.99) || !(e.PRaisedMatters > 0.9) || !(math.Abs(e.Smallest/e.U-2.8) < 0.3) || len(e.Notes) != 0 {
		t.Errorf("raised by 2: %+v", e)
	}
	if w := e.Waters[3]; w.Water != "south" || w.Treated || w.Before != 6 || w.After != 6 || !(w.Low < 0.5 && 0.5 < w.High) || math.Abs(w.Level-7) > 0.4 {
		t.Errorf("south: %+v", w)
	}
	if e := effect(t, tanks(-2, lot1), m, eastWest); e.Verdict != history.Lowered || !(e.PLoweredMatters > 0.9) {
		t.Errorf("lowered by 2: %+v", e)
	}
	if e := effect(t, tanks(0, lot1), m, eastWest); e.Verdict != history.Undecided && e.Verdict != history.SameForNeed {
		t.Errorf("nothing done: %+v", e)
	}
	m.Matters = 3
	if e := effect(t, tanks(0, lot1), m, eastWest); e.Verdict != history.SameForNeed {
		t.Errorf("nothing that matters: %+v", e)
	}
	mixed := tanks(2, lot1)
	rand.New(rand.NewPCG(5, 6)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	m.Matters = 0.5
	if again := effect(t, mixed, m, eastWest); !reflect.DeepEqual(again, e) {
		t.Error("the order of entry changed something")
	}
}

// One water a side leaves more open than two, and says so.
func TestOneWaterASide(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}, Matters: 0.5}
	two := effect(t, tanks(2, lot1), m, eastWest)
	for _, c := range []struct {
		x    history.Experiment
		code string
	}{
		{history.Experiment{Treated: []string{"east"}, Control: []string{"north"}, From: done}, "experiment-one-each"},
		{history.Experiment{Treated: []string{"east"}, Control: []string{"north", "south"}, From: done}, "experiment-one-treated"},
		{history.Experiment{Treated: []string{"east", "west"}, Control: []string{"north"}, From: done}, "experiment-one-control"},
	} {
		e := effect(t, tanks(2, lot1), m, c.x)
		if !(e.High-e.Low > 1.1*(two.High-two.Low)) || !slices.Contains(codes(e), c.code) {
			t.Errorf("%s: %.2f to %.2f, with two a side %.2f to %.2f; %v", c.code, e.Low, e.High, two.Low, two.High, codes(e))
		}
	}
}

// A lot that nothing links: with it after the day, nothing is told; of one water alone, that water is left out. One that is
// linked and read one side alone stays in the interval.
func TestExperimentAcrossLots(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}, Matters: 0.5}
	e := effect(t, tanks(2, func(_, week int) string { return []string{"L1", "L9"}[week/6] }), m, eastWest)
	if e.Verdict != history.CannotBeTold || !math.IsNaN(e.Value) || !slices.Contains(codes(e), "experiment-broken") {
		t.Errorf("another lot after the day: %+v", e)
	}
	e = effect(t, tanks(2, func(tank, week int) string {
		if tank == 3 && week >= 6 {
			return "L9"
		}
		return "L1"
	}), m, eastWest)
	if w := e.Waters[3]; w.Why == nil || !(e.Low < 2 && 2 < e.High) || !slices.Contains(codes(e), "experiment-broken") || !slices.Contains(codes(e), "experiment-one-control") {
		t.Errorf("another lot in one water: %+v", e)
	}

	checked := tanks(2, func(tank, week int) string {
		if tank < 2 && week >= 6 {
			return "L9"
		}
		return "L1"
	})
	for k := range 8 { // L9 reads what it should
		checked = append(checked, history.Entry{Row: 100 + k, At: done, Water: "check", Method: "Meter", Lot: "L9", Reader: "Ines", Reading: fmt.Sprintf("%.2f", 10+0.2*float64(k%3-1)), Dilution: 1, Check: true, Known: 10, UKnown: 0.3})
	}
	apart := effect(t, checked, m, eastWest)
	alike := effect(t, tanks(2, lot1), m, eastWest)
	if !(apart.U > alike.U) || !(apart.Low < 2 && 2 < apart.High) || !slices.Contains(codes(apart), "experiment-other-setups") {
		t.Errorf("treated waters read with another lot: u %v, alike %v; %v", apart.U, alike.U, codes(apart))
	}
}

func TestExperimentFaults(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}}
	l := tanks(0, lot1)
	for _, c := range []struct {
		x       history.Experiment
		columns string
	}{
		{history.Experiment{}, "treated control from"},
		{history.Experiment{Treated: []string{"east", "nowhere"}, Control: []string{"east"}, From: done}, "treated control"},
		{history.Experiment{Treated: []string{"east"}, Control: []string{"north"}, From: done, Settle: -1, Since: done, Until: done.AddDate(0, 0, -3)}, "settle since until"},
	} {
		_, err := history.EffectOf(l, m, c.x)
		var fs knownwater.Faults
		var columns []string
		if errors.As(err, &fs) {
			for _, f := range fs {
				columns = append(columns, f.Column)
			}
		}
		if got := strings.Join(columns, " "); got != c.columns {
			t.Errorf("%+v: %q, should be %q (%v)", c.x, got, c.columns, err)
		}
	}
	few := eastWest
	few.From = done.AddDate(0, 0, 28)
	if e := effect(t, l, m, few); e.Verdict != history.CannotBeTold || !slices.Contains(codes(e), "experiment-too-few") || e.Waters[0].Why == nil {
		t.Errorf("two results after: %+v", e)
	}
	few.From, few.Settle = done, 28
	if e := effect(t, l, m, few); e.Waters[0].After != 2 {
		t.Errorf("28 days left out: %+v", e.Waters[0])
	}
}

// The less a method scatters and the more waters, tests and weeks, the less can be seen; and what waters wander no
// method takes away.
func TestExperimentPlan(t *testing.T) {
	x := history.ExperimentPlan{Treated: 2, Control: 2, WeeksBefore: 6, WeeksAfter: 6, TestsAWeek: 1, Level: 4, Wander: 0.4}
	p := recordAs(t, meter)
	by := x.By([]*assess.Performance{p})
	meter, floor := by[0], by[1]
	if meter.Method != "Meter" || floor.Method != "" || !(meter.Scatter > 0.1 && meter.Scatter < 0.35) || floor.Scatter != 0 {
		t.Fatalf("%+v", by)
	}
	for _, b := range by {
		if !(b.Waters < 0.85*b.Planned) || !(b.Tests < 1.05*b.Planned) || !(b.Weeks < 1.05*b.Planned) {
			t.Errorf("twice as much of anything: %+v", b)
		}
	}
	if !(floor.Planned < meter.Planned) || !(floor.Planned > 0.4) {
		t.Errorf("by a method that does not scatter %v, by the meter %v", floor.Planned, meter.Planned)
	}
	still := x
	still.Wander = 0
	if s := still.By([]*assess.Performance{p}); !(s[0].Planned < meter.Planned) || !math.IsNaN(s[1].Planned) {
		t.Errorf("waters that stay: %+v", s)
	}
	if fs := (history.ExperimentPlan{Treated: 1, Control: 0, WeeksBefore: 60, WeeksAfter: 1, TestsAWeek: math.NaN(), Level: -1, Wander: -1}).Check(); len(fs) != 5 {
		t.Errorf("%v", fs)
	}
	if fs := (history.ExperimentPlan{Treated: 1, Control: 1, WeeksBefore: 2, WeeksAfter: 6, TestsAWeek: 1, Level: 1}).Check(); len(fs) != 1 {
		t.Errorf("two tests before: %v", fs)
	}
}

// What a chart's steps add to the scatter is that of the wider one of those about the level: at 5 the tile of 5 is 1.875 wide, what lies between
// 5 and 10 is 2.5. Steady hands see nothing of a rise until it leads there.
func TestScatterOfUnequalSteps(t *testing.T) {
	card := knownwater.Method{Name: "Card", Kind: knownwater.Chart, Swatches: []float64{0, 1, 2.5, 5, 10, 20}, AtShare: 0.25}
	tr := knownwater.Trial{Methods: []knownwater.Method{card}}
	rng := num.Source(6)
	for _, level := range []float64{1.3, 5.6, 14} {
		for range 4 {
			text := reading.Show(level*(1+0.1*rng.NormFloat64()), card)
			seen, err := reading.Understand(text, card)
			if err != nil {
				t.Fatal(err)
			}
			tr.Observations = append(tr.Observations, knownwater.Observation{Method: "Card", Level: level, ULevel: 0.02, Text: text, Seen: seen, Dilution: 1, Count: 1})
		}
	}
	p, err := assess.PerformanceOf(tr, "Card", "", assess.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	own := p.Way("", "", 1).Own(5)
	if got, want := history.ScatterAt(p, 5), math.Sqrt(own*own+2.5*2.5/12); math.Abs(got-want) > 1e-9 {
		t.Errorf("%g, by hand %g", got, want)
	}
}
