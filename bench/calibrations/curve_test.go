package calibrations_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/report"
	"knownwater/science/curve"
)

func TestCurveVersions(t *testing.T) {
	s := benchtest.New(t)
	last := s.Curved()
	versions := benchtest.Must(s.CurveVersions(ctx, last.ID))(t)
	if len(versions) != 3 || !versions[2].InUse || versions[0].InUse || !versions[0].Latest || versions[1].Why != "a bubble" {
		t.Fatalf("versions: %+v", versions)
	}
	first, second := versions[2], versions[1]
	if !reflect.DeepEqual(first.Spec, benchtest.CurveSpec().AsKept()) {
		t.Errorf("the first version is not what was kept:\n%+v", first.Spec)
	}
	if p := second.Spec.Points[4]; p.Out != "a bubble" || p.OutBy != benchtest.Owner.Name || second.Spec.Points[3].Out != "" {
		t.Errorf("left out: %+v", p)
	}
	points := func(c calibrations.Curve) int { return benchtest.Must(c.Spec.Fit())(t).Curve.Points }
	if a, b, c := points(first), points(second), points(last); a != 24 || b != 23 || c != 20 {
		t.Errorf("fitted to %d, %d and %d points, want 24, 23 and 20 (one left out, three held out)", a, b, c)
	}
	d := benchtest.Must(last.Spec.Fit())(t)
	if len(d.Checks) != 3 {
		t.Errorf("%d knowns judge it, want 3", len(d.Checks))
	}
	r, f := d.Read(curve.Sample{Signals: []float64{d.At(5)}})
	if f != nil || !(math.Abs(r.Level-5) <= 0.02) || !(r.Low < 5 && 5 < r.High) {
		t.Errorf("a signal of 5 reads %+v, %v", r, f)
	}
	k, ok := calibrations.CompareCurves(benchtest.Must(first.Spec.Fit())(t), d, last.Spec.Need)
	if !ok || k.Verdict != curve.SameForNeed {
		t.Errorf("two fits of nearly the same points: %+v, %v", k, ok)
	}

	if again := benchtest.Must(s.SaveCurve(ctx, benchtest.Owner, last.ID, last.Spec, ""))(t); again.VersionID != last.VersionID {
		t.Error("the same again made a version")
	}
	changed := last.Spec
	changed.Lot = "R8"
	_, err := s.SaveCurve(ctx, benchtest.Owner, last.ID, changed, " ")
	benchtest.WantFault(t, err, "why")
	_, err = s.UsePoint(ctx, benchtest.Owner, first.VersionID, 5, false, calibrations.ForNone, "late", "test")
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	_, err = s.AdoptCurve(ctx, benchtest.Owner, last.VersionID, "")
	benchtest.WantFault(t, err, "why")
	if c := benchtest.Must(s.AdoptCurve(ctx, benchtest.Owner, last.VersionID, "more knowns judge it"))(t); !c.InUse || c.Adopted.At.IsZero() {
		t.Errorf("adopted: %+v", c)
	}
	if benchtest.Must(s.CurveVersion(ctx, first.VersionID))(t).InUse {
		t.Error("two versions are in use")
	}
	for _, statement := range []string{"update curve_version set spec = '{}'", "delete from curve_version", "update curve_adoption set why = 'x'", "delete from curve_adoption", "delete from curve"} {
		_, err := benchtest.SQL(t, s.Path).Exec(statement)
		if err == nil || !strings.Contains(err.Error(), "never") {
			t.Errorf("%s: %v", statement, err)
		}
	}
	if err := s.RetireCurve(ctx, benchtest.Owner, last.ID, true); err != nil {
		t.Fatal(err)
	}
	_, err = s.AdoptCurve(ctx, benchtest.Owner, first.VersionID, "back")
	benchtest.WantRefusal(t, err, knownwater.WrongState)
}

func TestBadCurves(t *testing.T) {
	s := benchtest.New(t)
	for name, c := range map[string]struct {
		column string
		spoil  func(*calibrations.CurveSpec)
	}{
		"no name":            {"name", func(c *calibrations.CurveSpec) { c.Name = " " }},
		"no points":          {"points", func(c *calibrations.CurveSpec) { c.Points = nil }},
		"one level":          {"points", func(c *calibrations.CurveSpec) { c.Points = c.Points[:3] }},
		"a level below zero": {"points", func(c *calibrations.CurveSpec) { c.Points[4].Level = -1 }},
		"no number":          {"points", func(c *calibrations.CurveSpec) { c.Points[4].Signal = math.NaN() }},
		"columns exchanged": {"points", func(c *calibrations.CurveSpec) {
			for i, p := range c.Points {
				c.Points[i].Level, c.Points[i].Signal = p.Signal, p.Level
			}
		}},
		"no kind":        {"signal", func(c *calibrations.CurveSpec) { c.Conversion.Kind = "spoon" }},
		"blank for none": {"blank", func(c *calibrations.CurveSpec) { c.Conversion.BlankCounts = 900 }},
		"a shape":        {"shape", func(c *calibrations.CurveSpec) { c.Choices.Shape = "round" }},
		"weights":        {"weights", func(c *calibrations.CurveSpec) { c.Choices.Weights = "heavy" }},
		"a day":          {"valid_until", func(c *calibrations.CurveSpec) { c.ValidUntil = "soon" }},
		"a stock":        {"u_stock", func(c *calibrations.CurveSpec) { c.Choices.UStock = 3 }},
		"a unit":         {"unit", func(c *calibrations.CurveSpec) { c.Scale.Unit = "spoons" }},
		"too many": {"points", func(c *calibrations.CurveSpec) {
			c.Points = make([]calibrations.CurvePoint, calibrations.MostCurvePoints+1)
		}},
	} {
		spec := benchtest.CurveSpec()
		c.spoil(&spec)
		_, err := s.SaveCurve(ctx, benchtest.Owner, 0, spec, "")
		if err == nil {
			t.Errorf("%s was kept", name)
			continue
		}
		benchtest.WantFault(t, err, c.column)
	}
	_, err := s.SaveCurve(ctx, s.Ines, 0, benchtest.CurveSpec(), "")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	if n := len(benchtest.Must(s.Curves(ctx))(t)); n != 0 {
		t.Errorf("%d curves", n)
	}
	c := s.Curved()
	_, err = s.UsePoint(ctx, benchtest.Owner, c.VersionID, 99, false, "spoon", "", "test")
	benchtest.WantFault(t, err, "point")
	benchtest.WantFault(t, err, "use")
	benchtest.WantFault(t, err, "why")
	_, err = s.CurveVersion(context.Background(), 99)
	benchtest.WantRefusal(t, err, knownwater.NotFound)
}

// TestCurveRoundTrip: an exported curve comes back with every version, the one
// in use, and the same fit.
func TestCurveRoundTrip(t *testing.T) {
	s := benchtest.New(t)
	was := benchtest.Must(s.CurveVersions(ctx, s.Curved().ID))(t)
	path := t.TempDir() + "/in.db"
	if err := benchtest.ImportAt(benchtest.Export(t, s.Bench), path); err != nil {
		t.Fatal(err)
	}
	b := benchtest.Must(bench.Open(path, bench.Options{}))(t)
	defer b.Close()
	now := benchtest.Must(b.CurveVersions(ctx, was[0].ID))(t)
	if !reflect.DeepEqual(was, now) {
		t.Errorf("was %+v\nis %+v", was, now)
	}
	text := func(c calibrations.Curve) []byte {
		return benchtest.Must(json.Marshal(report.CurveJSON(benchtest.Must(c.Spec.Fit())(t))))(t)
	}
	for i := range was {
		if !bytes.Equal(text(was[i]), text(now[i])) {
			t.Errorf("version %d fits differently", was[i].Version)
		}
	}
}

// TestCurveFromTrial takes the readings of one method; only a finished trial's.
func TestCurveFromTrial(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	_, _, err := s.CurveFromTrial(ctx, benchtest.Owner, r.ID, s.Meter.VersionID)
	benchtest.WantRefusal(t, err, knownwater.WrongState)
	s.ReadAll(r.ID, s.Ines, s.Tomo)
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, ""))(t)
	benchtest.Must(s.Finish(ctx, benchtest.Owner, r.ID))(t)
	spec, skipped, err := s.CurveFromTrial(ctx, benchtest.Owner, r.ID, s.Meter.VersionID)
	if err != nil {
		t.Fatal(err)
	}
	vials := map[int64]int{}
	for _, x := range benchtest.Must(s.Readings(ctx, benchtest.Owner, r.ID, trials.ReadingFilter{Limit: 9999}))(t) {
		if x.VersionID == s.Meter.VersionID {
			vials[x.Vial]++
		}
	}
	if len(spec.Points)+skipped != len(vials) || len(spec.Points) == 0 {
		t.Errorf("%d points and %d skipped of %d vials", len(spec.Points), skipped, len(vials))
	}
	if spec.Scale != r.Plan.Scale || !strings.Contains(spec.Source, r.Plan.Title) {
		t.Errorf("scale %v, source %q", spec.Scale, spec.Source)
	}
	if spec.Name != "Pocket meter" || spec.Conversion.Kind != curve.DisplayValue {
		t.Errorf("name %q, signals %q", spec.Name, spec.Conversion.Kind)
	}
	_, _, err = s.CurveFromTrial(ctx, s.Ines, r.ID, s.Meter.VersionID)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, _, err = s.CurveFromTrial(ctx, benchtest.Owner, r.ID, 99)
	benchtest.WantRefusal(t, err, knownwater.NotFound)
}
