package bench

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/curve"
)

// curveSpec is a photometer with a little stray light; all invented. The knowns
// of 3 and 9 are held out.
func curveSpec() CurveSpec {
	s := CurveSpec{Name: "bench photometer", Scale: nitrate, Conversion: curve.Conversion{Kind: curve.Absorbance}, Lot: "R7", Matrix: "salt mix, salinity 35", ValidUntil: "2026-12-31", Program: "test",
		Need: &knownwater.Need{Name: "keep it low", Low: 0.5, High: 8, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}}}
	off := []float64{0.0011, -0.0008, 0.0003, -0.0012, 0.0009, 0.0002, -0.0005, 0.0013, -0.001}
	n := 0
	for _, level := range []float64{0, 0.5, 1, 2, 3, 4, 6, 8, 9, 12} {
		for range 3 {
			s.Points = append(s.Points, CurvePoint{Level: level, ULevel: 0.005 + 0.004*level, Signal: 0.012 + 0.068*level - 0.0007*level*level + off[n%len(off)], Check: level == 3 || level == 9, Dilution: 1})
			n++
		}
	}
	return s
}

// curved keeps a curve in three versions, the first of them in use.
func (s *shed) curved() Curve {
	s.t.Helper()
	c := must(s.SaveCurve(ctx, owner, 0, curveSpec(), ""))(s.t)
	must(s.AdoptCurve(ctx, owner, c.VersionID, ""))(s.t)
	c = must(s.UsePoint(ctx, owner, c.VersionID, 5, false, ForNone, "a bubble", "test"))(s.t)
	return must(s.UsePoint(ctx, owner, c.VersionID, 19, true, ForCheck, "hold out 6", "test"))(s.t)
}

func TestCurveVersions(t *testing.T) {
	s := newShed(t)
	last := s.curved()
	versions := must(s.CurveVersions(ctx, last.ID))(t)
	if len(versions) != 3 || !versions[2].InUse || versions[0].InUse || !versions[0].Latest || versions[1].Why != "a bubble" {
		t.Fatalf("versions: %+v", versions)
	}
	first, second := versions[2], versions[1]
	if !reflect.DeepEqual(first.Spec, must2(curveSpec().tidied())) {
		t.Errorf("the first version is not what was kept:\n%+v", first.Spec)
	}
	if p := second.Spec.Points[4]; p.Out != "a bubble" || p.OutBy != owner.Name || second.Spec.Points[3].Out != "" {
		t.Errorf("left out: %+v", p)
	}
	points := func(c Curve) int { return must(c.Spec.Fit())(t).Curve.Points }
	if a, b, c := points(first), points(second), points(last); a != 24 || b != 23 || c != 20 {
		t.Errorf("fitted to %d, %d and %d points, want 24, 23 and 20 (one left out, three held out)", a, b, c)
	}
	d := must(last.Spec.Fit())(t)
	if len(d.Checks) != 3 {
		t.Errorf("%d knowns judge it, want 3", len(d.Checks))
	}
	r, f := d.Read(curve.Sample{Signals: []float64{d.At(5)}})
	if f != nil || math.Abs(r.Level-5) > 0.02 || !(r.Low < 5 && 5 < r.High) {
		t.Errorf("a signal of 5 reads %+v, %v", r, f)
	}
	k, ok := CompareCurves(must(first.Spec.Fit())(t), d, last.Spec.Need)
	if !ok || k.Verdict != curve.SameForNeed {
		t.Errorf("two fits of nearly the same points: %+v, %v", k, ok)
	}

	if again := must(s.SaveCurve(ctx, owner, last.ID, last.Spec, ""))(t); again.VersionID != last.VersionID {
		t.Error("the same again made a version")
	}
	changed := last.Spec
	changed.Lot = "R8"
	_, err := s.SaveCurve(ctx, owner, last.ID, changed, " ")
	wantFault(t, err, "why")
	_, err = s.UsePoint(ctx, owner, first.VersionID, 5, false, ForNone, "late", "test")
	wantRefusal(t, err, knownwater.WrongState)
	_, err = s.AdoptCurve(ctx, owner, last.VersionID, "")
	wantFault(t, err, "why")
	if c := must(s.AdoptCurve(ctx, owner, last.VersionID, "more knowns judge it"))(t); !c.InUse || c.Adopted.At.IsZero() {
		t.Errorf("adopted: %+v", c)
	}
	if must(s.CurveVersion(ctx, first.VersionID))(t).InUse {
		t.Error("two versions are in use")
	}
	for _, statement := range []string{"update curve_version set spec = '{}'", "delete from curve_version", "update curve_adoption set why = 'x'", "delete from curve_adoption", "delete from curve"} {
		_, err := raw(t, s.path).Exec(statement)
		if err == nil || !strings.Contains(err.Error(), "never") {
			t.Errorf("%s: %v", statement, err)
		}
	}
	if err := s.RetireCurve(ctx, owner, last.ID, true); err != nil {
		t.Fatal(err)
	}
	_, err = s.AdoptCurve(ctx, owner, first.VersionID, "back")
	wantRefusal(t, err, knownwater.WrongState)
}

func must2(s CurveSpec, fs knownwater.Faults) CurveSpec {
	if len(fs) > 0 {
		panic(fs)
	}
	return s
}

func TestBadCurves(t *testing.T) {
	s := newShed(t)
	for name, c := range map[string]struct {
		column string
		spoil  func(*CurveSpec)
	}{
		"no name":            {"name", func(c *CurveSpec) { c.Name = " " }},
		"no points":          {"points", func(c *CurveSpec) { c.Points = nil }},
		"one level":          {"points", func(c *CurveSpec) { c.Points = c.Points[:3] }},
		"a level below zero": {"points", func(c *CurveSpec) { c.Points[4].Level = -1 }},
		"no number":          {"points", func(c *CurveSpec) { c.Points[4].Signal = math.NaN() }},
		"columns exchanged": {"points", func(c *CurveSpec) {
			for i, p := range c.Points {
				c.Points[i].Level, c.Points[i].Signal = p.Signal, p.Level
			}
		}},
		"no kind":        {"signal", func(c *CurveSpec) { c.Conversion.Kind = "spoon" }},
		"blank for none": {"blank", func(c *CurveSpec) { c.Conversion.BlankCounts = 900 }},
		"a shape":        {"shape", func(c *CurveSpec) { c.Choices.Shape = "round" }},
		"weights":        {"weights", func(c *CurveSpec) { c.Choices.Weights = "heavy" }},
		"a day":          {"valid_until", func(c *CurveSpec) { c.ValidUntil = "soon" }},
		"a stock":        {"u_stock", func(c *CurveSpec) { c.Choices.UStock = 3 }},
		"a unit":         {"unit", func(c *CurveSpec) { c.Scale.Unit = "spoons" }},
		"too many":       {"points", func(c *CurveSpec) { c.Points = make([]CurvePoint, mostCurvePoints+1) }},
	} {
		spec := curveSpec()
		c.spoil(&spec)
		_, err := s.SaveCurve(ctx, owner, 0, spec, "")
		if err == nil {
			t.Errorf("%s was kept", name)
			continue
		}
		wantFault(t, err, c.column)
	}
	_, err := s.SaveCurve(ctx, s.ines, 0, curveSpec(), "")
	wantRefusal(t, err, knownwater.NotAllowed)
	if n := len(must(s.Curves(ctx))(t)); n != 0 {
		t.Errorf("%d curves", n)
	}
	c := s.curved()
	_, err = s.UsePoint(ctx, owner, c.VersionID, 99, false, "spoon", "", "test")
	wantFault(t, err, "point")
	wantFault(t, err, "use")
	wantFault(t, err, "why")
	_, err = s.CurveVersion(context.Background(), 99)
	wantRefusal(t, err, knownwater.NotFound)
}

// TestCurveRoundTrip: an exported curve comes back with every version, the one
// in use, and the same fit.
func TestCurveRoundTrip(t *testing.T) {
	s := newShed(t)
	was := must(s.CurveVersions(ctx, s.curved().ID))(t)
	path := t.TempDir() + "/in.db"
	if err := importAt(export(t, s.Bench), path); err != nil {
		t.Fatal(err)
	}
	b := must(Open(path, Options{}))(t)
	defer b.Close()
	now := must(b.CurveVersions(ctx, was[0].ID))(t)
	if !reflect.DeepEqual(was, now) {
		t.Errorf("was %+v\nis %+v", was, now)
	}
	text := func(c Curve) []byte { return must(must(c.Spec.Fit())(t).MarshalJSON())(t) }
	for i := range was {
		if !bytes.Equal(text(was[i]), text(now[i])) {
			t.Errorf("version %d fits differently", was[i].Version)
		}
	}
}

// TestCurveFromTrial takes the readings of one method; only a finished trial's.
func TestCurveFromTrial(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	_, _, err := s.CurveFromTrial(ctx, owner, r.ID, s.meter.VersionID)
	wantRefusal(t, err, knownwater.WrongState)
	s.readAll(r.ID, s.ines, s.tomo)
	must(s.OpenKey(ctx, owner, r.ID, ""))(t)
	must(s.Finish(ctx, owner, r.ID))(t)
	spec, skipped, err := s.CurveFromTrial(ctx, owner, r.ID, s.meter.VersionID)
	if err != nil {
		t.Fatal(err)
	}
	vials := map[int64]int{}
	for _, x := range must(s.Readings(ctx, owner, r.ID, ReadingFilter{Limit: 9999}))(t) {
		if x.VersionID == s.meter.VersionID {
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
	_, _, err = s.CurveFromTrial(ctx, s.ines, r.ID, s.meter.VersionID)
	wantRefusal(t, err, knownwater.NotAllowed)
	_, _, err = s.CurveFromTrial(ctx, owner, r.ID, 99)
	wantRefusal(t, err, knownwater.NotFound)
}

// TestPointsOfReadings: a vial is one point however often it was read, what is no
// plain number or was left out is none, and what the knowns share is the stock's.
func TestPointsOfReadings(t *testing.T) {
	read := func(vial int64, text string, dilution float64, lot string) Reading {
		return Reading{VersionID: 7, Vial: vial, Code: fmt.Sprint("v", vial), Text: text, Level: float64(vial), ULevel: 0.1, Session: 1, Dilution: dilution, Lot: lot}
	}
	list := []Reading{read(1, "0,273", 1, "A"), read(2, "0.30", 1, "A"), read(1, "0.275", 1, "A"), read(1, "0.04", 8, "A"), read(3, "<0.1", 1, "A"), read(4, "nothing", 1, "A"), read(2, "0.30", 1, "A"), read(5, "−0.002", 1, "A")}
	list = append(list, read(6, "0.5", 1, "A"))
	list[8].Excluded = &Exclusion{Why: "spilled"}
	other := read(1, "9", 1, "B")
	other.VersionID = 8
	var s CurveSpec
	if skipped := s.take(append(list, other), 7); skipped != 3 {
		t.Errorf("%d skipped", skipped)
	}
	want := []CurvePoint{{Level: 1, ULevel: 0.1, Signal: 0.274, Session: "1", Replicate: "v1", Dilution: 1}, {Level: 2, ULevel: 0.1, Signal: 0.3, Session: "1", Replicate: "v2", Dilution: 1},
		{Level: 1, ULevel: 0.1, Signal: 0.04, Session: "1", Replicate: "v1", Dilution: 8}, {Level: 5, ULevel: 0.1, Signal: -0.002, Session: "1", Replicate: "v5", Dilution: 1}}
	if !reflect.DeepEqual(s.Points, want) || s.Lot != "A" || !strings.Contains(s.Note, "2 readings") {
		t.Errorf("lot %q, note %q, points\n%+v", s.Lot, s.Note, s.Points)
	}
	s = CurveSpec{}
	if s.take([]Reading{read(1, "1", 1, "A"), read(2, "2", 1, "B")}, 7); s.Lot != "" || !strings.Contains(s.Note, "several lots") {
		t.Errorf("two lots: %q, %q", s.Lot, s.Note)
	}
	knowns := []Known{{Level: 0, U: 0.1}, {Level: 5, UShared: 0.05, Matrix: "salt"}, {Level: 10, UShared: -0.1, Matrix: "salt"}, {Level: 20, UShared: 0.2}}
	if got := sharedOf(knowns); got != 0.01 {
		t.Errorf("the stock's part is %g", got)
	}
	if matrixOf(knowns) != "salt" || matrixOf(append(knowns, Known{Matrix: "pure"})) != "" || sharedOf(nil) != 0 {
		t.Error("matrix or no knowns")
	}
}
