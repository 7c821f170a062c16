package calibrations_test

import (
	"math"
	"reflect"
	"testing"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/internal/benchtest"
	"knownwater/science/curve"
	"knownwater/science/handover"
)

func TestRecheckMakesAVersion(t *testing.T) {
	s := benchtest.New(t)
	c := s.Rechecked()
	if c.Version != 2 || c.Spec.ValidUntil != "" || len(c.Spec.Slopes) != 1 || c.Why != "the lamp is weaker" || c.Made.Name != benchtest.Owner.Name {
		t.Fatalf("the next version: %+v", c)
	}
	u := c.Spec.Slopes[0]
	if !(math.Abs(u.Factor-0.9) <= 0.005) || !(u.U > 0 && u.U < 0.01) || !reflect.DeepEqual(u.Seen, benchtest.Lower()) {
		t.Errorf("decided: %+v", u)
	}
	d := benchtest.Must(c.Spec.Fit())(t)
	r, f := d.Read(curve.Sample{Signals: []float64{0.012 + 0.068*4.5 - 0.0007*4.5*4.5}}) // what 5 gives now
	if f != nil || !(math.Abs(r.Level-5) <= 0.03) || !(r.Low < 5 && 5 < r.High) {
		t.Errorf("a signal of 5 reads %+v, %v", r, f)
	}
	if len(d.Points) != 6 || len(d.Checks) != 0 || d.Why.Code != "slope-of-earlier" || math.Abs(float64(d.Why.Numbers["factor"][0])-0.8967) > 1e-4 {
		t.Errorf("the updated curve shows %d points and %d checks: %+v", len(d.Points), len(d.Checks), d.Why)
	}
	for _, p := range d.Points {
		if !(math.Abs(p.Residual) <= 0.004) {
			t.Errorf("the re-check's own vial at %g lies %g off the curve", p.Level, p.Residual)
		}
	}
	if !(math.Abs(handover.CheckLevel(d)-6) <= 1e-9) {
		t.Errorf("the known that proves a table: %g", handover.CheckLevel(d))
	}
	kept := benchtest.Must(s.Rechecks(ctx, c.ID))(t)
	if len(kept) != 2 || kept[0].LedTo != c.VersionID || kept[0].LedToN != 2 || kept[0].Version != 1 || kept[0].Said.Verdict != curve.UpdateSlope || kept[0].Made.Name != benchtest.Owner.Name || kept[0].Made.At.IsZero() {
		t.Errorf("kept: %+v", kept)
	}
	if k := kept[1]; k.LedTo != 0 || k.Said.Verdict != curve.Holds || k.Why != "new bottle" || k.Seen.Knowns[0].Level != 6 {
		t.Errorf("kept without a version: %+v", k)
	}
	// The same again of the new version: it holds, and again lower makes a third.
	third := benchtest.Must(s.KeepRecheck(ctx, benchtest.Owner, c.VersionID, benchtest.Lower(), false, "", "test"))(t)
	if k := benchtest.Must(s.Rechecks(ctx, c.ID))(t)[0]; third.Version != 2 || k.Said.Verdict != curve.Holds {
		t.Errorf("after the update: %+v", k)
	}
	next := benchtest.Must(s.UsePoint(ctx, benchtest.Owner, c.VersionID, 5, false, calibrations.ForNone, "a bubble", "test"))(t)
	if next.Version != 3 || next.Spec.Slopes != nil || c.Spec.SameFit(next.Spec) {
		t.Errorf("another fit took the update along: %+v", next.Spec.Slopes)
	}
}

func TestRecheckUpdatesOnlyWhatItMay(t *testing.T) {
	s := benchtest.New(t)
	c := s.Rechecked()
	_, err := s.KeepRecheck(ctx, benchtest.Owner, c.VersionID, benchtest.Lower(), true, "again", "test") // it holds now
	benchtest.WantFault(t, err, "update")
	_, err = s.KeepRecheck(ctx, benchtest.Owner, benchtest.Must(s.CurveVersions(ctx, c.ID))(t)[1].VersionID, benchtest.Lower(), true, "late", "test")
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	_, err = s.KeepRecheck(ctx, s.Ines, c.VersionID, benchtest.Lower(), false, "", "test")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.KeepRecheck(ctx, benchtest.Owner, 99, benchtest.Lower(), false, "", "test")
	benchtest.WantRefusal(t, err, knownwater.NotFound)

	other := benchtest.Must(s.SaveCurve(ctx, benchtest.Owner, 0, benchtest.CurveSpec(), ""))(t)
	_, err = s.KeepRecheck(ctx, benchtest.Owner, other.VersionID, benchtest.Lower(), true, " ", "test")
	benchtest.WantFault(t, err, "why")
	if err := s.RetireCurve(ctx, benchtest.Owner, other.ID, true); err != nil {
		t.Fatal(err)
	}
	_, err = s.KeepRecheck(ctx, benchtest.Owner, other.VersionID, benchtest.Lower(), true, "weaker", "test")
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	if n := len(benchtest.Must(s.CurveVersions(ctx, other.ID))(t)); n != 1 {
		t.Errorf("%d versions", n)
	}

	diluted := benchtest.CurveSpec()
	for _, p := range diluted.Points {
		p.Level, p.ULevel, p.Dilution = 8*p.Level, 8*p.ULevel, 8
		diluted.Points = append(diluted.Points, p)
	}
	two := benchtest.Must(s.SaveCurve(ctx, benchtest.Owner, 0, diluted, ""))(t)
	_, err = s.KeepRecheck(ctx, benchtest.Owner, two.VersionID, benchtest.Lower(), true, "weaker", "test")
	benchtest.WantFault(t, err, "update")

	for name, change := range map[string]func(*calibrations.Recheck){
		"blank":   func(r *calibrations.Recheck) { r.Blank = nil },
		"margin":  func(r *calibrations.Recheck) { r.Margin = 0 },
		"level":   func(r *calibrations.Recheck) { r.Knowns = nil },
		"u":       func(r *calibrations.Recheck) { r.Knowns[0].ULevel = -1 },
		"signals": func(r *calibrations.Recheck) { r.Knowns[1].Signals = []float64{math.NaN()} },
	} {
		r := benchtest.Lower()
		change(&r)
		_, err := s.KeepRecheck(ctx, benchtest.Owner, c.VersionID, r, false, "", "test")
		benchtest.WantFault(t, err, name)
	}

	for _, statement := range []string{"update curve_recheck set why = 'x'", "delete from curve_recheck", "insert into curve_recheck select 99, 2, spec, outcome, 1, why, made_at, made_by, made_from from curve_recheck limit 1"} {
		if _, err := benchtest.SQL(t, s.Path).Exec(statement); err == nil {
			t.Errorf("%s was done", statement)
		}
	}
}

// TestRecheckOfDilutedKnowns: levels are those before the dilution.
func TestRecheckOfDilutedKnowns(t *testing.T) {
	spec := benchtest.CurveSpec()
	for i := range spec.Points {
		p := &spec.Points[i]
		p.Level, p.ULevel, p.Dilution = 8*p.Level, 8*p.ULevel, 8
	}
	d := benchtest.Must(spec.Fit())(t)
	r := benchtest.Lower()
	for i := range r.Knowns {
		r.Knowns[i].Level, r.Knowns[i].ULevel = 8*r.Knowns[i].Level, 8*r.Knowns[i].ULevel
	}
	got, want := benchtest.Must(r.Against(d))(t), benchtest.Must(benchtest.Lower().Against(benchtest.Must(benchtest.CurveSpec().Fit())(t)))(t)
	if !(math.Abs(got.Slope-want.Slope) <= 1e-9) || !(math.Abs(got.USlope-want.USlope) <= 1e-9) {
		t.Errorf("diluted %+v\nundiluted %+v", got, want)
	}
	twice := benchtest.Lower()
	twice.Knowns = append(twice.Knowns[:1:1], calibrations.RecheckKnown{Level: 6, ULevel: 0.02, Signals: twice.Knowns[0].Signals[:1]})
	twice.Knowns[0].Signals = twice.Knowns[0].Signals[1:]
	if got := benchtest.Must(twice.Against(benchtest.Must(benchtest.CurveSpec().Fit())(t)))(t); got.Knowns != 1 {
		t.Errorf("two vials of one known count as two knowns: %+v", got)
	}
}
