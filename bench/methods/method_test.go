package methods_test

import (
	"math"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/methods"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
)

func TestEditingMakesAVersion(t *testing.T) {
	s := benchtest.New(t)
	old := s.Card
	spec := benchtest.CardSpec()
	if m := benchtest.Must(s.SaveMethod(ctx, benchtest.Owner, old.ID, spec, ""))(t); m.Version != 1 {
		t.Errorf("an unchanged description made version %d", m.Version)
	}
	spec.Swatches[1].Value = 1.2
	_, err := s.SaveMethod(ctx, benchtest.Owner, old.ID, spec, " ")
	benchtest.WantFault(t, err, "why")
	m := benchtest.Must(s.SaveMethod(ctx, benchtest.Owner, old.ID, spec, "new chart edition"))(t)
	if m.Version != 2 || !m.Latest || m.ID != old.ID || m.VersionID == old.VersionID {
		t.Errorf("new version: %+v", m)
	}
	before := benchtest.Must(s.MethodVersion(ctx, old.VersionID))(t)
	if before.Spec.Swatches[1].Value != 1 || before.Latest {
		t.Errorf("the old version changed: %+v", before)
	}
	if all := benchtest.Must(s.MethodVersions(ctx, old.ID))(t); len(all) != 2 || all[0].Version != 2 || all[0].Why != "new chart edition" {
		t.Errorf("versions: %+v", all)
	}
	if _, err := benchtest.SQL(t, s.Path).Exec("update method_version set name = 'x'"); err == nil {
		t.Error("a version could be edited in place")
	}
}

func TestMethodFaults(t *testing.T) {
	s := benchtest.New(t)
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
		spec := benchtest.CardSpec()
		spec.Name = "Another card"
		change(&spec)
		_, err := s.SaveMethod(ctx, benchtest.Owner, 0, spec, "")
		benchtest.WantFault(t, err, column)
	}
	spec := benchtest.CardSpec()
	spec.Swatches[0].Colour = "red; background: url(x)"
	if len(methods.Faults(spec)) == 0 {
		t.Error("a colour that is none went through")
	}
	_, err := s.SaveMethod(ctx, benchtest.Owner, 0, benchtest.CardSpec(), "")
	benchtest.WantFault(t, err, "name") // another one is called so
	_, err = s.SaveMethod(ctx, s.Ines, 0, benchtest.MeterSpec(), "")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.SaveMethod(ctx, benchtest.Owner, 99, benchtest.MeterSpec(), "")
	benchtest.WantRefusal(t, err, knownwater.NotFound)
}

func TestRetire(t *testing.T) {
	s := benchtest.New(t)
	if err := s.RetireMethod(ctx, benchtest.Owner, s.Card.ID, true); err != nil {
		t.Fatal(err)
	}
	if ms := benchtest.Must(s.Methods(ctx))(t); len(ms) != 2 || ms[1].ID != s.Card.ID || !ms[1].Retired {
		t.Errorf("methods: %+v", ms)
	}
	benchtest.Must(s.SaveMethod(ctx, benchtest.Owner, 0, benchtest.CardSpec(), ""))(t) // the name is free again
}

// TestDilution: 1 ± 0.02 mL and 7 ± 0.07 mL make a factor of 8 whose standard
// uncertainty is 7·√(0.02² + 0.01²) = 0.15652, 0.019566 of 8 (by hand).
func TestDilution(t *testing.T) {
	d := benchtest.CardSpec().Dilution
	if d.By() != 8 {
		t.Errorf("factor %g, want 8", d.By())
	}
	if !(math.Abs(d.U()-0.0195656) <= 1e-6) {
		t.Errorf("relative uncertainty %g, want 0.0195656", d.U())
	}
	if u := (knownwater.Dilution{Factor: 4}).U(); u != 0 {
		t.Errorf("uncertainty %g of a bare factor", u)
	}
}

func TestLots(t *testing.T) {
	s := benchtest.New(t)
	l := s.Lot
	l.Note, l.Retired = "half gone\r\n", true
	got := benchtest.Must(s.SaveLot(ctx, benchtest.Owner, l))(t)
	if got.Note != "half gone" || !got.Retired || got.Made != s.Lot.Made {
		t.Errorf("changed lot: %+v", got)
	}
	_, err := s.SaveLot(ctx, benchtest.Owner, knownwater.Lot{MethodID: s.Card.ID, Code: "A1"})
	benchtest.WantFault(t, err, "code")
	_, err = s.SaveLot(ctx, benchtest.Owner, knownwater.Lot{MethodID: s.Card.ID, Code: "A2", ExpiresOn: "soon"})
	benchtest.WantFault(t, err, "expires_on")
	_, err = s.SaveLot(ctx, benchtest.Owner, knownwater.Lot{MethodID: 99, Code: "A2"})
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	if m := benchtest.Must(s.Method(ctx, s.Card.ID))(t); m.TestsLeft != -1 {
		t.Errorf("tests left %d with the only lot retired", m.TestsLeft)
	}
}

func TestTestsLeft(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	run := benchtest.Must(s.Run(ctx, s.Ines, r.ID, 1))(t)
	used := 0
	for _, v := range run.Vials {
		if v.Method == s.Card.VersionID {
			for _, who := range []knownwater.Who{s.Ines, s.Tomo} { // one vial, read twice: one test
				benchtest.Must(s.KeepReading(ctx, who, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: "1"}))(t)
			}
			used++
		}
	}
	if m := benchtest.Must(s.Method(ctx, s.Card.ID))(t); used == 0 || m.TestsLeft != 50-used || m.Trials != 1 {
		t.Errorf("tests left %d after %d, in %d trials", m.TestsLeft, used, m.Trials)
	}
	if l := benchtest.Must(s.Lots(ctx, s.Card.ID))(t)[0]; l.Used != used {
		t.Errorf("lot used %d, want %d", l.Used, used)
	}
}

func TestNeeds(t *testing.T) {
	s := benchtest.New(t)
	n := s.Need
	n.Need.High = 9
	if got := benchtest.Must(s.SaveNeed(ctx, benchtest.Owner, n))(t); got.Need.High != 9 || got.ID != n.ID {
		t.Errorf("changed need: %+v", got)
	}
	n.Need.Permitted = nil
	_, err := s.SaveNeed(ctx, benchtest.Owner, n)
	benchtest.WantFault(t, err, "permitted")
	n = s.Need
	n.ID, n.Need.Low = 0, 10
	_, err = s.SaveNeed(ctx, benchtest.Owner, n)
	benchtest.WantFault(t, err, "low")
}
