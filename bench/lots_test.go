package bench_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/internal/benchtest"
	"knownwater/report"
	"knownwater/science/control"
	"knownwater/science/num"
)

// A second lot: vials of one known beside the first one's, its ratio with a verdict, what is
// left of both, and what is said of it.
func TestLotBeside(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	check := func(lot, reading string) {
		t.Helper()
		n := benchtest.ReadBy(rec, reading)
		n.Of, n.Lot = &knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06}, lot
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	first := knownwater.Lot{Code: "A1", Tests: 50}
	second := knownwater.Lot{Code: "A2", Tests: 50}
	for range 4 {
		check("A1", "6.8")
	}
	need := knownwater.Need{Name: "hold it", Low: 2, High: 6, Permitted: []knownwater.Permit{{At: 2, Error: 1}, {At: 6, Error: 1.2}}}
	beside := func() (string, string) {
		t.Helper()
		l := benchtest.Must(s.LotBeside(ctx, rec.ID, second, first, &need))(t)
		said := report.LotsSay(nil, l, true)
		if len(said) == 0 {
			return l.Told, ""
		}
		return l.Told, said[0].Head + " " + said[0].More
	}
	told, said := beside()
	if told != "untold" || !strings.Contains(said, "has not been tested beside lot A1") || !strings.Contains(said, "46 tests left") || !strings.Contains(said, "a fifth otherwise") {
		t.Errorf("%s: %s", told, said)
	}
	for _, reading := range []string{"5.4", "5.5", "5.6", "5.5"} { // a fifth less
		check("A2", reading)
	}
	if told, said = beside(); told != "different" || !strings.Contains(said, "Lot A2 reads 8") {
		t.Errorf("%s: %s", told, said)
	}
	l := benchtest.Must(s.LotBeside(ctx, rec.ID, second, first, nil))(t)
	if l.From != 4 || l.To != 4 || !(l.Low < 0.82 && l.High > 0.8) || l.Left != 46 || l.LeftBefore != 46 || l.Share != 0 {
		t.Errorf("%+v", l)
	}
	// the other way round it is one over it
	if x := benchtest.Must(s.LotBeside(ctx, rec.ID, first, second, nil))(t); math.Abs(x.Ratio*l.Ratio-1) > 0.01 {
		t.Errorf("%g and %g", x.Ratio, l.Ratio)
	}
	// one that is nearly empty asks for the next
	few := first
	few.Tests = 6
	l = benchtest.Must(s.LotBeside(ctx, rec.ID, few, knownwater.Lot{}, nil))(t)
	if said := report.LotsSay(nil, l, false); len(said) != 1 || !strings.Contains(said[0].Head, "2 tests left") {
		t.Errorf("%+v", said)
	}
	if said := report.LotsSay(nil, l, true); len(said) != 0 {
		t.Errorf("with the next lot open: %+v", said)
	}
}

// A duplicate, a spike and a blank beside a routine test, and one that has nothing beside it.
func TestQuality(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "north tank"}, ""))(t)
	two, hours := 2.0, 60.0
	keep := func(reading string, at time.Time, of knownwater.Sample) {
		t.Helper()
		n := benchtest.ReadBy(rec, reading)
		of.Water = w.ID
		n.Of, n.TakenAt = &of, at
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	day := time.Date(2026, 1, 1, 19, 0, 0, 0, time.UTC)
	keep("5.0", day, knownwater.Sample{Role: knownwater.Routine, SampleSpec: knownwater.SampleSpec{HoursKept: &hours}})
	keep("5.1", day.Add(time.Hour), knownwater.Sample{Role: knownwater.Duplicate})
	keep("9.0", day.Add(2*time.Hour), knownwater.Sample{Role: knownwater.Duplicate})
	keep("6.8", day.Add(3*time.Hour), knownwater.Sample{Role: knownwater.Spiked, SampleSpec: knownwater.SampleSpec{Spike: &two}})
	keep("5.0", day.AddDate(0, 0, 9), knownwater.Sample{Role: knownwater.Duplicate})
	list := benchtest.Must(s.ResultsOfWater(ctx, w.ID, "", 100))(t)
	got := benchtest.Must(s.QualityOf(ctx, list))(t)
	stood := func(n calibrations.Result) (hours float64) { // as the note with it says
		for _, x := range n.Notes {
			if strings.HasPrefix(x.Code, "sample-stood") {
				hours = float64(x.Numbers["hours"][0])
			}
		}
		return hours
	}
	taken := day.AddDate(0, 0, 20).Add(-90*time.Hour - 12*time.Minute)
	for i, c := range []struct {
		of   knownwater.SampleSpec
		want float64
	}{{knownwater.SampleSpec{SampledAt: &taken}, 90.2}, {knownwater.SampleSpec{SampledAt: &taken, HoursKept: &hours}, 60}, {knownwater.SampleSpec{}, 0}} {
		n := benchtest.ReadBy(rec, "5.0")
		n.Of, n.TakenAt = &knownwater.Sample{Water: w.ID, Role: knownwater.Routine, SampleSpec: c.of}, day.AddDate(0, 0, 20)
		n.Key = fmt.Sprintf("a-key-of-one-that-stood-%d", i)
		r := benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
		if stood(r) != c.want || benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t).ID != r.ID {
			t.Errorf("stood %g hours, not %g", stood(r), c.want)
		}
		right := benchtest.ReadBy(rec, "5.1")
		if corrected := benchtest.Must(s.CorrectResult(ctx, s.Ines, r.ID, right, "a slip of the pen"))(t); stood(corrected) != c.want {
			t.Errorf("corrected, it stood %g hours, not %g", stood(corrected), c.want)
		}
		if c.want > 0 {
			n.TakenAt, n.Key = taken.Add(-time.Minute), "a-key-of-one-not-yet-taken"
			if _, err := s.KeepResult(ctx, s.Ines, n); err == nil || !strings.Contains(err.Error(), "sampled_at") {
				t.Errorf("taken after its test: %v", err)
			}
		}
	}
	said := map[string]bool{}
	for _, q := range got {
		said[report.QualitySays(nil, q.Role, q.Against.Outcome.Level, q.Result.Outcome.Level, two, q.Pair, q.Result.Scale)] = q.Fine
	}
	if len(got) != 3 {
		t.Fatalf("%d evaluated: %v", len(got), said)
	}
	for text, fine := range said {
		if want := strings.Contains(text, "agree") || strings.Contains(text, "were found"); fine != want {
			t.Errorf("%t: %s", fine, text)
		}
	}
	if q := got[0]; q.Role != knownwater.Spiked || q.Against.Text != "5.0" || !(q.Low < 1 && q.High > 0.6 && q.Low > 0) {
		t.Errorf("spike: %+v", q.Pair)
	}
	notes := ""
	for _, r := range list {
		notes += strings.Join(report.SayAll(r.Notes), " ")
	}
	if !strings.Contains(notes, "stood 60 hours") {
		t.Errorf("a sample that stood 60 hours: %s", notes)
	}
}

// Knowns read by a curve are checks, too: they hold, and when the lamp has weakened they ring and
// what was read since waits.
func TestChecksByACurve(t *testing.T) {
	s := benchtest.New(t)
	c := s.Curved()
	versions := benchtest.Must(s.CurveVersions(ctx, c.ID))(t)
	inUse := versions[len(versions)-1].VersionID
	keep := func(signal float64, of *knownwater.Sample) calibrations.Result {
		t.Helper()
		n := benchtest.Read5(inUse)
		n.Signals, n.Of, n.Water = fmt.Sprintf("%.4f", signal), of, "known"
		return benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	signal := func(level float64) float64 { return 0.012 + 0.068*level - 0.0007*level*level }
	check := &knownwater.Sample{Role: knownwater.Checked, Known: 5, UKnown: 0.02}
	rng := num.Source(71)
	for range 12 {
		keep(signal(5)+0.001*rng.NormFloat64(), check)
	}
	watched := benchtest.Must(s.Watch(ctx))(t)
	if len(watched) != 1 || watched[0].Chart.State == control.Moved || watched[0].Chart.Onset.Odds > 0.2 || watched[0].Curve != c.ID {
		t.Fatalf("%d rows, %s", len(watched), watched[0].Chart.State)
	}
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "north tank"}, ""))(t)
	r := keep(signal(5), &knownwater.Sample{Water: w.ID, Role: knownwater.Routine})
	if bench.Waits(r, watched) != nil {
		t.Error("waits though its method holds")
	}
	for range 5 {
		keep(0.92*signal(5)+0.001*rng.NormFloat64(), check)
	}
	watched = benchtest.Must(s.Watch(ctx))(t)
	if len(watched) != 1 || watched[0].Chart.State != control.Moved || !(watched[0].Onset.High < 0.95) {
		t.Fatalf("%d rows, %s, %+v", len(watched), watched[0].Chart.State, watched[0].Onset)
	}
	last := keep(signal(5), &knownwater.Sample{Water: w.ID, Role: knownwater.Routine})
	if bench.Waits(last, watched) == nil {
		t.Error("does not wait though its method moved")
	}
}
