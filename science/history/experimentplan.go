package history

import (
	"fmt"
	"math"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/reading"
	"knownwater/science/series"
)

// ExperimentPlan is an experiment before it is made.
type ExperimentPlan struct {
	Treated, Control        int
	WeeksBefore, WeeksAfter int
	TestsAWeek              float64 // of each water
	Level                   float64 // about where the waters are
	Wander                  float64 // how far they depart from their level and come back, as a standard deviation
}

// plannedPower is the chance with which a planned effect is to be called.
const plannedPower = 0.8

// PlannedBy is what an experiment would show by a method: the smallest effect that is called in four of five such
// experiments, as planned, and if one thing were more. NaN: it cannot be told.
type PlannedBy struct {
	Method  string  // empty: a method that does not scatter at all; what is left is the waters' own wandering
	Scatter float64 // of one test at the level, its steps in it
	Planned float64
	Tests   float64 // with twice the tests a week
	Waters  float64 // with twice the waters on both sides
	Weeks   float64 // with twice the weeks on both sides
}

// Check finds what cannot be planned; columns are names of flags.
func (x ExperimentPlan) Check() (fs knownwater.Faults) {
	number := func(column string, v, low, high float64) {
		if !(v >= low && v <= high) {
			fs = append(fs, knownwater.Fault{Column: column, Found: "%v", Want: "a number from %g to %g"}.Of(v, low, high))
		}
	}
	number("treated", float64(x.Treated), 1, 12)
	number("control", float64(x.Control), 1, 12)
	number("weeks-before", float64(x.WeeksBefore), 1, 52)
	number("weeks-after", float64(x.WeeksAfter), 1, 52)
	number("tests-a-week", x.TestsAWeek, 0.25, 7)
	if x.Level <= 0 || x.Level > 1e6 || math.IsNaN(x.Level) {
		fs = append(fs, knownwater.Fault{Column: "level", Found: fmt.Sprint(x.Level), Want: "a concentration above 0: about where the waters are"})
	}
	if x.Wander < 0 || x.Wander > 1e6 || math.IsNaN(x.Wander) {
		fs = append(fs, knownwater.Fault{Column: "wander", Found: fmt.Sprint(x.Wander), Want: "a concentration from 0 up: how far the waters go from their level and come back, as a standard deviation"})
	}
	if fs == nil && (math.Round(float64(x.WeeksBefore)*x.TestsAWeek) < fewestInPeriod || math.Round(float64(x.WeeksAfter)*x.TestsAWeek) < fewestInPeriod) {
		fs = append(fs, knownwater.Fault{Column: "tests-a-week", Found: "%v", Want: "enough for %d tests of each water before, and after"}.Of(x.TestsAWeek, fewestInPeriod))
	}
	return fs
}

func (x ExperimentPlan) smallest(scatter float64) float64 {
	return series.Planned{Treated: x.Treated, Control: x.Control, Scatter: scatter, Wander: x.Wander,
		Before: days(0, x.WeeksBefore, x.TestsAWeek), After: days(7*float64(x.WeeksBefore), x.WeeksAfter, x.TestsAWeek)}.Smallest(plannedPower)
}

// days of testing, evenly.
func days(from float64, weeks int, aWeek float64) (out []float64) {
	for i := range int(math.Round(float64(weeks) * aWeek)) {
		out = append(out, from+7*float64(i)/aWeek)
	}
	return out
}

// By says what the plan would show by each method, and last by one that does not scatter. What methods share cancels in
// an experiment, so that only what a test scatters by itself counts.
func (x ExperimentPlan) By(methods []*assess.Performance) (out []PlannedBy) {
	for _, p := range methods {
		out = append(out, x.with(p.Method.Name, ScatterAt(p, x.Level)))
	}
	return append(out, x.with("", 0))
}

func (x ExperimentPlan) with(method string, scatter float64) PlannedBy {
	by := PlannedBy{Method: method, Scatter: scatter, Planned: x.smallest(scatter)}
	more := x
	more.TestsAWeek *= 2
	by.Tests = more.smallest(scatter)
	more = x
	more.Treated, more.Control = 2*x.Treated, 2*x.Control
	by.Waters = more.smallest(scatter)
	more = x
	more.WeeksBefore, more.WeeksAfter = 2*x.WeeksBefore, 2*x.WeeksAfter
	by.Weeks = more.smallest(scatter)
	return by
}

// ScatterAt is what one test of a sample of c scatters by itself, as a standard deviation: the record's own scatter, and
// the step of the method's scale at c, or the one beside it where that is wider, as what is to be shown leads there, width²/12: of a chart
// with 5 and 10 read by steady hands a rise by what the narrower step at 5 lets expect was told in 9 of 40 made-up experiments. It is diluted where its sheet says so.
func ScatterAt(p *assess.Performance, c float64) float64 {
	m := p.Method
	dilution := 1.0
	if m.DilutionOver > 0 && c > m.DilutionOver {
		dilution = m.DilutionFactor
	}
	own := p.Way("", "", dilution).Own(c)
	seen, err := reading.Understand(reading.Show(c/dilution, m), m)
	if err != nil {
		return own
	}
	width, past := 0.0, 1e-6*c/dilution
	for _, y := range []float64{c / dilution, seen.Low - past, seen.High + past} {
		if step, err := reading.Understand(reading.Show(y, m), m); err == nil && !math.IsInf(step.Width(), 0) {
			width = math.Max(width, step.Width()*dilution)
		}
	}
	return math.Sqrt(own*own + width*width/12)
}
