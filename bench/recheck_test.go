package bench

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/curve"
)

// lower is a re-check of curveSpec's photometer after its slope has fallen to nine tenths.
func lower() Recheck {
	at := func(c float64) float64 { c *= 0.9; return 0.012 + 0.068*c - 0.0007*c*c }
	return Recheck{Blank: []float64{0.012, 0.0123}, Margin: 0.05, Knowns: []RecheckKnown{
		{Level: 6, ULevel: 0.02, Signals: []float64{at(6) - 0.0004, at(6) + 0.0004}}, {Level: 10, ULevel: 0.03, Signals: []float64{at(10), at(10) + 0.0003}}}}
}

// rechecked keeps two re-checks of a curve: one that holds, one that led to a version.
func (s *shed) rechecked() Curve {
	s.t.Helper()
	c := must(s.SaveCurve(ctx, owner, 0, curveSpec(), ""))(s.t)
	holds := Recheck{Blank: []float64{0.012}, Margin: 0.05, Knowns: []RecheckKnown{{Level: 6, Signals: []float64{0.3947}}}}
	must(s.KeepRecheck(ctx, owner, c.VersionID, holds, false, "new bottle", "test"))(s.t)
	return must(s.KeepRecheck(ctx, owner, c.VersionID, lower(), true, "the lamp is weaker", "test"))(s.t)
}

func TestRecheckMakesAVersion(t *testing.T) {
	s := newShed(t)
	c := s.rechecked()
	if c.Version != 2 || c.Spec.ValidUntil != "" || len(c.Spec.Slopes) != 1 || c.Why != "the lamp is weaker" || c.Made.Name != owner.Name {
		t.Fatalf("the next version: %+v", c)
	}
	u := c.Spec.Slopes[0]
	if math.Abs(u.Factor-0.9) > 0.005 || !(u.U > 0 && u.U < 0.01) || !reflect.DeepEqual(u.Seen, lower()) {
		t.Errorf("decided: %+v", u)
	}
	d := must(c.Spec.Fit())(t)
	r, f := d.Read(curve.Sample{Signals: []float64{0.012 + 0.068*4.5 - 0.0007*4.5*4.5}}) // what 5 gives now
	if f != nil || math.Abs(r.Level-5) > 0.03 || !(r.Low < 5 && 5 < r.High) {
		t.Errorf("a signal of 5 reads %+v, %v", r, f)
	}
	if len(d.Points) != 6 || len(d.Checks) != 0 || !strings.Contains(d.Why, "multiplied by 0.89") {
		t.Errorf("the updated curve shows %d points and %d checks: %s", len(d.Points), len(d.Checks), d.Why)
	}
	for _, p := range d.Points {
		if math.Abs(p.Residual) > 0.004 {
			t.Errorf("the re-check's own vial at %g lies %g off the curve", p.Level, p.Residual)
		}
	}
	if math.Abs(d.CheckLevel()-6) > 1e-9 {
		t.Errorf("the known that proves a table: %g", d.CheckLevel())
	}
	kept := must(s.Rechecks(ctx, c.ID))(t)
	if len(kept) != 2 || kept[0].LedTo != c.VersionID || kept[0].LedToN != 2 || kept[0].Version != 1 || kept[0].Said.Verdict != curve.UpdateSlope || kept[0].Made.Name != owner.Name || kept[0].Made.At.IsZero() {
		t.Errorf("kept: %+v", kept)
	}
	if k := kept[1]; k.LedTo != 0 || k.Said.Verdict != curve.Holds || k.Why != "new bottle" || k.Seen.Knowns[0].Level != 6 {
		t.Errorf("kept without a version: %+v", k)
	}
	// The same again of the new version: it holds, and again lower makes a third.
	third := must(s.KeepRecheck(ctx, owner, c.VersionID, lower(), false, "", "test"))(t)
	if k := must(s.Rechecks(ctx, c.ID))(t)[0]; third.Version != 2 || k.Said.Verdict != curve.Holds {
		t.Errorf("after the update: %+v", k)
	}
	next := must(s.UsePoint(ctx, owner, c.VersionID, 5, false, ForNone, "a bubble", "test"))(t)
	if next.Version != 3 || next.Spec.Slopes != nil || c.Spec.SameFit(next.Spec) {
		t.Errorf("another fit took the update along: %+v", next.Spec.Slopes)
	}
}

func TestRecheckUpdatesOnlyWhatItMay(t *testing.T) {
	s := newShed(t)
	c := s.rechecked()
	_, err := s.KeepRecheck(ctx, owner, c.VersionID, lower(), true, "again", "test") // it holds now
	wantFault(t, err, "update")
	_, err = s.KeepRecheck(ctx, owner, must(s.CurveVersions(ctx, c.ID))(t)[1].VersionID, lower(), true, "late", "test")
	wantRefusal(t, err, knownwater.WrongState)
	_, err = s.KeepRecheck(ctx, s.ines, c.VersionID, lower(), false, "", "test")
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.KeepRecheck(ctx, owner, 99, lower(), false, "", "test")
	wantRefusal(t, err, knownwater.NotFound)

	other := must(s.SaveCurve(ctx, owner, 0, curveSpec(), ""))(t)
	_, err = s.KeepRecheck(ctx, owner, other.VersionID, lower(), true, " ", "test")
	wantFault(t, err, "why")
	if err := s.RetireCurve(ctx, owner, other.ID, true); err != nil {
		t.Fatal(err)
	}
	_, err = s.KeepRecheck(ctx, owner, other.VersionID, lower(), true, "weaker", "test")
	wantRefusal(t, err, knownwater.WrongState)
	if n := len(must(s.CurveVersions(ctx, other.ID))(t)); n != 1 {
		t.Errorf("%d versions", n)
	}

	diluted := curveSpec()
	for _, p := range diluted.Points {
		p.Level, p.ULevel, p.Dilution = 8*p.Level, 8*p.ULevel, 8
		diluted.Points = append(diluted.Points, p)
	}
	two := must(s.SaveCurve(ctx, owner, 0, diluted, ""))(t)
	_, err = s.KeepRecheck(ctx, owner, two.VersionID, lower(), true, "weaker", "test")
	wantFault(t, err, "update")

	for name, change := range map[string]func(*Recheck){
		"blank":   func(r *Recheck) { r.Blank = nil },
		"margin":  func(r *Recheck) { r.Margin = 0 },
		"level":   func(r *Recheck) { r.Knowns = nil },
		"u":       func(r *Recheck) { r.Knowns[0].ULevel = -1 },
		"signals": func(r *Recheck) { r.Knowns[1].Signals = []float64{math.NaN()} },
	} {
		r := lower()
		change(&r)
		_, err := s.KeepRecheck(ctx, owner, c.VersionID, r, false, "", "test")
		wantFault(t, err, name)
	}

	for _, statement := range []string{"update curve_recheck set why = 'x'", "delete from curve_recheck", "insert into curve_recheck select 99, 2, spec, outcome, 1, why, made_at, made_by, made_from from curve_recheck limit 1"} {
		if _, err := raw(t, s.path).Exec(statement); err == nil {
			t.Errorf("%s was done", statement)
		}
	}
}

// TestRecheckOfDilutedKnowns: levels are those before the dilution.
func TestRecheckOfDilutedKnowns(t *testing.T) {
	spec := curveSpec()
	for i := range spec.Points {
		p := &spec.Points[i]
		p.Level, p.ULevel, p.Dilution = 8*p.Level, 8*p.ULevel, 8
	}
	d := must(spec.Fit())(t)
	r := lower()
	for i := range r.Knowns {
		r.Knowns[i].Level, r.Knowns[i].ULevel = 8*r.Knowns[i].Level, 8*r.Knowns[i].ULevel
	}
	got, want := must(r.Against(d))(t), must(lower().Against(must(curveSpec().Fit())(t)))(t)
	if math.Abs(got.Slope-want.Slope) > 1e-9 || math.Abs(got.USlope-want.USlope) > 1e-9 {
		t.Errorf("diluted %+v\nundiluted %+v", got, want)
	}
	twice := lower()
	twice.Knowns = append(twice.Knowns[:1:1], RecheckKnown{Level: 6, ULevel: 0.02, Signals: twice.Knowns[0].Signals[:1]})
	twice.Knowns[0].Signals = twice.Knowns[0].Signals[1:]
	if got := must(twice.Against(must(curveSpec().Fit())(t)))(t); !strings.Contains(got.Words, "Test one more known") {
		t.Errorf("two vials of one known count as two knowns: %s", got.Words)
	}
}
