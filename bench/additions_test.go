package bench

import (
	"math"
	"strings"
	"testing"

	"knownwater"
)

// TestBackgroundOfTheHowTo: the readings of docs/howto-standards.md, whose
// estimate comes from the command line.
func TestBackgroundOfTheHowTo(t *testing.T) {
	s := newShed(t)
	_, water := s.shelved()
	spec := meterSpec()
	spec.Name, spec.Resolution = "Straight meter", 0.01
	m := must(s.SaveMethod(ctx, owner, 0, spec, ""))(t)
	a := Additions{Method: m.ID, Zero: 0.2, UZero: 0.02}
	for added, texts := range map[float64]string{0: "0.48 0.42 0.45", 1: "1.41 1.36", 2: "2.33 2.38", 4: "4.21 4.29"} {
		for _, text := range strings.Fields(texts) {
			a.Rows = append(a.Rows, AdditionRow{added, text})
		}
	}
	est, _, err := s.EstimateBackground(ctx, a)
	if err != nil || math.Abs(est.Value-0.25882488) > 1e-5 || math.Abs(est.U-0.028025607) > 1e-5 || est.N != 9 {
		t.Errorf("%v ± %v from %d, %v", est.Value, est.U, est.N, err)
	}
	x := must(s.KeepBackground(ctx, owner, water.ID, a))(t)
	got, _ := x.Spec.Water.Background("nitrate")
	if x.Version != 2 || got.Value != est.Value || got.U != est.U || got.How != "standard addition" || len(x.Spec.Water.Backgrounds) != 1 {
		t.Errorf("kept: %+v", x.Spec.Water)
	}
	if old := must(s.ItemVersions(ctx, water.ID))(t)[1]; old.Spec.Water.Backgrounds[0].Value != 0.259 {
		t.Error("the first version has changed")
	}
	a.Rows[3].Text = "many"
	_, _, err = s.EstimateBackground(ctx, a)
	wantFault(t, err, "additions")
	a.Rows = a.Rows[:2]
	_, err = s.KeepBackground(ctx, owner, water.ID, a)
	wantFault(t, err, "additions")
	_, err = s.KeepBackground(ctx, s.ines, water.ID, a)
	wantRefusal(t, err, knownwater.NotAllowed)
}
