package waters_test

import (
	"context"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/internal/benchtest"
	"knownwater/science/control"
)

var ctx = context.Background()

func TestWaters(t *testing.T) {
	s := benchtest.New(t)
	spec := knownwater.WaterSpec{Name: " north  tank ", Litres: 300, Needs: []int64{s.Need.ID, s.Need.ID}}
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, spec, ""))(t)
	if w.Spec.Name != "north tank" || w.Spec.Kind != knownwater.Tank || len(w.Spec.Needs) != 1 || w.Version != 1 {
		t.Errorf("kept %+v", w)
	}
	if again := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, w.ID, w.Spec, ""))(t); again.VersionID != w.VersionID {
		t.Error("the same again made a version")
	}
	changed := w.Spec
	changed.Litres = 310
	if next := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, w.ID, changed, "measured"))(t); next.Version != 2 {
		t.Errorf("version %d", next.Version)
	}
	_, err := s.SaveWater(ctx, benchtest.Owner, 0, spec, "")
	benchtest.WantFault(t, err, "name")
	_, err = s.SaveWater(ctx, s.Ines, 0, knownwater.WaterSpec{Name: "mine"}, "")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Kind: "sea", Litres: -1}, "")
	for _, column := range []string{"name", "kind", "litres"} {
		benchtest.WantFault(t, err, column)
	}
	_, err = s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "other", Needs: []int64{99}}, "")
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	if err := s.RetireWater(ctx, benchtest.Owner, w.ID, true); err != nil {
		t.Fatal(err)
	}
	if list := benchtest.Must(s.Waters(ctx))(t); len(list) != 1 || !list[0].Retired {
		t.Errorf("%+v", list)
	}
	for _, statement := range []string{"update water_version set name = 'x'", "delete from water_version", "delete from water"} {
		if err := benchtest.Exec(t, s.Path, statement); err == nil || !strings.Contains(err.Error(), "never") {
			t.Errorf("%s: %v", statement, err)
		}
	}
}

// Checks of a lot that reads too low: they ring, results since then wait, and what somebody
// says of one of them is kept beside it.
func TestResultsWaitForAWord(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "north tank"}, ""))(t)
	keep := func(readings string, of knownwater.Sample) calibrations.Result {
		t.Helper()
		n := benchtest.ReadBy(rec, readings)
		n.Of, n.Lot = &of, "L2"
		return benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	sample := knownwater.Sample{Water: w.ID, Role: knownwater.Routine}
	first := keep("5.0", sample)
	for range 4 {
		keep("4.0", knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06}) // should read 6.8
		keep("5.1", sample)
	}
	watched := benchtest.Must(s.Watch(ctx))(t)
	if len(watched) != 1 || watched[0].Chart.State != control.Moved || watched[0].Onset == nil {
		t.Fatalf("watched: %+v", watched)
	}
	list := benchtest.Must(s.ResultsOfWater(ctx, w.ID, "", 100))(t)
	waits := 0
	for _, r := range list {
		if bench.Waits(r, watched) != nil {
			waits++
		}
	}
	if len(list) != 5 || waits != 5 {
		t.Errorf("%d of %d wait: all were taken with the lot, on its first day", waits, len(list))
	}
	err := s.SayStanding(ctx, benchtest.Owner, []int64{first.ID}, "perhaps", " ")
	benchtest.WantFault(t, err, "why")
	benchtest.WantFault(t, err, "standing")
	benchtest.WantRefusal(t, s.SayStanding(ctx, s.Ines, []int64{first.ID}, knownwater.ResultLeftOut, "x"), knownwater.NotAllowed)
	benchtest.WantRefusal(t, s.SayStanding(ctx, benchtest.Owner, []int64{9999}, knownwater.ResultLeftOut, "x"), knownwater.NotFound)
	if err := s.SayStanding(ctx, benchtest.Owner, []int64{first.ID}, knownwater.ResultLeftOut, "the lot was bad"); err != nil {
		t.Fatal(err)
	}
	list = benchtest.Must(s.ResultsOfWater(ctx, w.ID, "", 100))(t)
	if oldest := list[len(list)-1]; oldest.ID != first.ID || oldest.Standing != knownwater.ResultLeftOut || bench.Waits(oldest, watched) != nil {
		t.Errorf("left out: %+v", oldest)
	}
	if oldest := list[len(list)-1]; oldest.Outcome.Level != first.Outcome.Level || oldest.Text != "5.0" {
		t.Error("the result itself changed")
	}
	// a correction stays of the same sample
	n := benchtest.ReadBy(rec, "5.2")
	n.Lot = "L2"
	if fixed := benchtest.Must(s.CorrectResult(ctx, s.Ines, first.ID, n, "misread"))(t); fixed.Of.ID != first.Of.ID {
		t.Errorf("corrected: of sample %d, was %d", fixed.Of.ID, first.Of.ID)
	}
	// sent again under its key it is one
	n = benchtest.ReadBy(rec, "5.3")
	n.Of = &sample
	one := benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	if two := benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t); two.ID != one.ID || two.Of.ID != one.Of.ID {
		t.Error("kept twice")
	}
	n.Of = &knownwater.Sample{Role: knownwater.Checked, Known: -1, Water: w.ID}
	n.Key = benchtest.NewKey()
	_, err = s.KeepResult(ctx, s.Ines, n)
	benchtest.WantFault(t, err, "known")
	benchtest.WantFault(t, err, "water")
	for _, statement := range []string{"update sample set known = 3", "delete from sample", "update result_standing set why = 'x'", "delete from result_standing"} {
		if err := benchtest.Exec(t, s.Path, statement); err == nil {
			t.Errorf("%s was done", statement)
		}
	}
}
