package bench

import (
	"math"
	"strings"
	"testing"

	"knownwater"
)

func TestEditingMakesAVersion(t *testing.T) {
	s := newShed(t)
	old := s.card
	spec := cardSpec()
	if m := must(s.SaveMethod(ctx, owner, old.ID, spec, ""))(t); m.Version != 1 {
		t.Errorf("an unchanged description made version %d", m.Version)
	}
	spec.Swatches[1].Value = 1.2
	_, err := s.SaveMethod(ctx, owner, old.ID, spec, " ")
	wantFault(t, err, "why")
	m := must(s.SaveMethod(ctx, owner, old.ID, spec, "new chart edition"))(t)
	if m.Version != 2 || !m.Latest || m.ID != old.ID || m.VersionID == old.VersionID {
		t.Errorf("new version: %+v", m)
	}
	before := must(s.MethodVersion(ctx, old.VersionID))(t)
	if before.Spec.Swatches[1].Value != 1 || before.Latest {
		t.Errorf("the old version changed: %+v", before)
	}
	if all := must(s.MethodVersions(ctx, old.ID))(t); len(all) != 2 || all[0].Version != 2 || all[0].Why != "new chart edition" {
		t.Errorf("versions: %+v", all)
	}
	if err := s.write(ctx, func(t tx) error { return t.Exec("update method_version set name = 'x'") }); err == nil {
		t.Error("a version could be edited in place")
	}
}

func TestMethodFaults(t *testing.T) {
	s := newShed(t)
	for column, change := range map[string]func(*knownwater.MethodSpec){
		"name":         func(m *knownwater.MethodSpec) { m.Name = " " },
		"kind":         func(m *knownwater.MethodSpec) { m.Kind = "smell" },
		"scale":        func(m *knownwater.MethodSpec) { m.Scale.Unit = "parsecs" },
		"swatches":     func(m *knownwater.MethodSpec) { m.Swatches[2].Value = 0.5 },
		"steps":        func(m *knownwater.MethodSpec) { m.Steps[0].Seconds = -1 },
		"at_share":     func(m *knownwater.MethodSpec) { m.AtShare = 2 },
		"pack_price":   func(m *knownwater.MethodSpec) { m.PackPrice = math.NaN() },
		"u_water_ml":   func(m *knownwater.MethodSpec) { m.Dilution.UWaterML = -1 },
		"sample_ml":    func(m *knownwater.MethodSpec) { m.Dilution.SampleML = 0 },
		"note":         func(m *knownwater.MethodSpec) { m.Note = strings.Repeat("x", 4000+1) },
		"water_device": func(m *knownwater.MethodSpec) { m.Dilution.WaterDevice = strings.Repeat("x", 200+1) },
	} {
		spec := cardSpec()
		spec.Name = "Another card"
		change(&spec)
		_, err := s.SaveMethod(ctx, owner, 0, spec, "")
		wantFault(t, err, column)
	}
	spec := cardSpec()
	spec.Swatches[0].Colour = "red; background: url(x)"
	if len(CheckMethod(spec)) == 0 {
		t.Error("a colour that is none went through")
	}
	_, err := s.SaveMethod(ctx, owner, 0, cardSpec(), "")
	wantFault(t, err, "name") // another one is called so
	_, err = s.SaveMethod(ctx, s.ines, 0, meterSpec(), "")
	wantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.SaveMethod(ctx, owner, 99, meterSpec(), "")
	wantRefusal(t, err, knownwater.NotFound)
}

func TestRetire(t *testing.T) {
	s := newShed(t)
	if err := s.RetireMethod(ctx, owner, s.card.ID, true); err != nil {
		t.Fatal(err)
	}
	if ms := must(s.Methods(ctx))(t); len(ms) != 2 || ms[1].ID != s.card.ID || !ms[1].Retired {
		t.Errorf("methods: %+v", ms)
	}
	must(s.SaveMethod(ctx, owner, 0, cardSpec(), ""))(t) // the name is free again
}

// TestDilution: 1 ± 0.02 mL and 7 ± 0.07 mL make a factor of 8 whose standard
// uncertainty is 7·√(0.02² + 0.01²) = 0.15652, 0.019566 of 8 (by hand).
func TestDilution(t *testing.T) {
	d := cardSpec().Dilution
	if d.By() != 8 {
		t.Errorf("factor %g, want 8", d.By())
	}
	if math.Abs(d.U()-0.0195656) > 1e-6 {
		t.Errorf("relative uncertainty %g, want 0.0195656", d.U())
	}
	if u := (knownwater.Dilution{Factor: 4}).U(); u != 0 {
		t.Errorf("uncertainty %g of a bare factor", u)
	}
}

func TestLots(t *testing.T) {
	s := newShed(t)
	l := s.lot
	l.Note, l.Retired = "half gone\r\n", true
	got := must(s.SaveLot(ctx, owner, l))(t)
	if got.Note != "half gone" || !got.Retired || got.Made != s.lot.Made {
		t.Errorf("changed lot: %+v", got)
	}
	_, err := s.SaveLot(ctx, owner, knownwater.Lot{MethodID: s.card.ID, Code: "A1"})
	wantFault(t, err, "code")
	_, err = s.SaveLot(ctx, owner, knownwater.Lot{MethodID: s.card.ID, Code: "A2", ExpiresOn: "soon"})
	wantFault(t, err, "expires_on")
	_, err = s.SaveLot(ctx, owner, knownwater.Lot{MethodID: 99, Code: "A2"})
	wantRefusal(t, err, knownwater.NotFound)
	if m := must(s.Method(ctx, s.card.ID))(t); m.TestsLeft != -1 {
		t.Errorf("tests left %d with the only lot retired", m.TestsLeft)
	}
}

func TestTestsLeft(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	run := must(s.Run(ctx, s.ines, r.ID, 1))(t)
	used := 0
	for _, v := range run.Vials {
		if v.Method == s.card.VersionID {
			for _, who := range []knownwater.Who{s.ines, s.tomo} { // one vial, read twice: one test
				must(s.KeepReading(ctx, who, NewReading{Key: newKey(), Vial: v.ID, Text: "1"}))(t)
			}
			used++
		}
	}
	if m := must(s.Method(ctx, s.card.ID))(t); used == 0 || m.TestsLeft != 50-used || m.Trials != 1 {
		t.Errorf("tests left %d after %d, in %d trials", m.TestsLeft, used, m.Trials)
	}
	if l := must(s.Lots(ctx, s.card.ID))(t)[0]; l.Used != used {
		t.Errorf("lot used %d, want %d", l.Used, used)
	}
}

func TestNeeds(t *testing.T) {
	s := newShed(t)
	n := s.need
	n.Need.High = 9
	if got := must(s.SaveNeed(ctx, owner, n))(t); got.Need.High != 9 || got.ID != n.ID {
		t.Errorf("changed need: %+v", got)
	}
	n.Need.Permitted = nil
	_, err := s.SaveNeed(ctx, owner, n)
	wantFault(t, err, "permitted")
	n = s.need
	n.ID, n.Need.Low = 0, 10
	_, err = s.SaveNeed(ctx, owner, n)
	wantFault(t, err, "low")
}
