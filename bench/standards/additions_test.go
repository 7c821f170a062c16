package standards_test

import (
	"math"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/standards"
	"knownwater/internal/benchtest"
)

// TestBackgroundOfTheHowTo: the readings of docs/howto-standards.md, whose
// estimate comes from the command line.
func TestBackgroundOfTheHowTo(t *testing.T) {
	s := benchtest.New(t)
	_, water := s.Shelved()
	spec := benchtest.MeterSpec()
	spec.Name, spec.Resolution = "Straight meter", 0.01
	m := benchtest.Must(s.SaveMethod(ctx, benchtest.Owner, 0, spec, ""))(t)
	a := standards.Additions{Method: m.ID, Zero: 0.2, UZero: 0.02}
	for added, texts := range map[float64]string{0: "0.48 0.42 0.45", 1: "1.41 1.36", 2: "2.33 2.38", 4: "4.21 4.29"} {
		for _, text := range strings.Fields(texts) {
			a.Rows = append(a.Rows, standards.AdditionRow{added, text})
		}
	}
	est, _, err := s.EstimateBackground(ctx, a)
	if err != nil || !(math.Abs(est.Value-0.25882488) <= 1e-5) || !(math.Abs(est.U-0.028025607) <= 1e-5) || est.N != 9 {
		t.Errorf("%v ± %v from %d, %v", est.Value, est.U, est.N, err)
	}
	x := benchtest.Must(s.KeepBackground(ctx, benchtest.Owner, water.ID, a))(t)
	got, _ := x.Spec.Water.Background("nitrate")
	if x.Version != 2 || got.Value != est.Value || got.U != est.U || got.How != "standard addition" || len(x.Spec.Water.Backgrounds) != 1 {
		t.Errorf("kept: %+v", x.Spec.Water)
	}
	if old := benchtest.Must(s.ItemVersions(ctx, water.ID))(t)[1]; old.Spec.Water.Backgrounds[0].Value != 0.259 {
		t.Error("the first version has changed")
	}
	a.Rows[3].Text = "many"
	_, _, err = s.EstimateBackground(ctx, a)
	benchtest.WantFault(t, err, "additions")
	a.Rows = a.Rows[:2]
	_, err = s.KeepBackground(ctx, benchtest.Owner, water.ID, a)
	benchtest.WantFault(t, err, "additions")
	_, err = s.KeepBackground(ctx, s.Ines, water.ID, a)
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
}
