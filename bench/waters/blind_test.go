package waters_test

import (
	"slices"
	"testing"

	"knownwater"
	"knownwater/internal/benchtest"
)

// Coded vials: a known hidden among a water's, read by their codes alone; each counts as what it
// holds, and only an owner sees which is which.
func TestBlindVials(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "north tank"}, ""))(t)
	known := knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06}
	if s.HasBlind(ctx) {
		t.Error("coded vials before there are any")
	}
	codes := benchtest.Must(s.PrepareBlind(ctx, benchtest.Owner, []knownwater.Sample{known, known, {Role: knownwater.Routine, Water: w.ID}}))(t)
	more := benchtest.Must(s.PrepareBlind(ctx, benchtest.Owner, []knownwater.Sample{known}))(t)
	if len(codes) != 3 || slices.Contains(codes, more[0]) || !s.HasBlind(ctx) {
		t.Fatalf("%v, %v", codes, more)
	}
	_, err := s.PrepareBlind(ctx, s.Ines, []knownwater.Sample{known})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.BlindVials(ctx, s.Ines, 10)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.PrepareBlind(ctx, benchtest.Owner, nil)
	benchtest.WantFault(t, err, "vials")
	_, err = s.PrepareBlind(ctx, benchtest.Owner, []knownwater.Sample{{Role: knownwater.Checked, Known: -1}})
	benchtest.WantFault(t, err, "known")

	keep := func(code, reading string) error {
		n := benchtest.ReadBy(rec, reading)
		n.Of = &knownwater.Sample{SampleSpec: knownwater.SampleSpec{Vial: code}}
		_, err := s.KeepResult(ctx, s.Ines, n)
		return err
	}
	for i, code := range append(codes, more...) {
		if err := keep(code, []string{"6.8", "6.7", "5.0", "6.9"}[i]); err != nil {
			t.Fatal(err)
		}
	}
	benchtest.WantFault(t, keep("ZZZZ", "6.8"), "vial")
	checks := benchtest.Must(s.Checks(ctx))(t)
	list := benchtest.Must(s.ResultsOfWater(ctx, w.ID, "", 10))(t)
	if len(checks) != 3 || checks[0].Of.Known != 6 || len(list) != 1 || list[0].Text != "5.0" {
		t.Errorf("%d checks, %d results", len(checks), len(list))
	}
	vials := benchtest.Must(s.BlindVials(ctx, benchtest.Owner, 10))(t)
	if len(vials) != 4 || vials[0].SampleSpec.Vial != more[0] || vials[0].Read != 1 || vials[1].Name != "north tank" || s.HasBlind(ctx) {
		t.Errorf("%+v", vials)
	}
}
