package bench_test

import (
	"reflect"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/internal/benchtest"
	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/unit"
)

// Where nobody but a reader whom the trial did not try reads checks, they are of him alone, on the bench as in a water's history: those whom
// the trial tried wait for none of his.
func TestChecksOfAReaderWhomNobodyTried(t *testing.T) {
	s := benchtest.New(t)
	trial := s.Measured(s.Ines)
	rec := benchtest.Must(s.AdoptRecord(ctx, benchtest.Owner, calibrations.NewRecord{Trial: trial.ID, Version: s.Meter.VersionID, Program: "test 1"}))(t)
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "south tank"}, ""))(t)
	keep := func(reader, reading string, of knownwater.Sample) {
		t.Helper()
		n := benchtest.ReadBy(rec, reading)
		n.Of, n.Reader = &of, reader
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	for range 3 {
		keep("Ines", "5.0", knownwater.Sample{Water: w.ID, Role: knownwater.Routine})
		for range 3 {
			keep("Wren", "9.6", knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06})
		}
		keep("Wren", "7.0", knownwater.Sample{Water: w.ID, Role: knownwater.Routine})
	}
	watched := benchtest.Must(s.Watch(ctx))(t)
	if len(watched) != 1 || watched[0].Chart.State != control.Moved || watched[0].Reader != "Wren" {
		t.Fatalf("%d rows, the first %s, of %q", len(watched), watched[0].Chart.State, watched[0].Reader)
	}
	log := benchtest.Must(s.LogOfWater(ctx, w, unit.Scale{}))(t)
	waits := map[string]int{}
	for _, r := range benchtest.Must(s.WaterHistory(ctx, log))(t).Results {
		told := bench.Waits(log.By[r.Row], watched) != nil
		if told != (r.Standing == history.Waits) {
			t.Errorf("row %d by %s: %s, on the bench %v", r.Row, r.Reader, r.Standing, told)
		}
		if told {
			waits[r.Reader]++
		}
	}
	if waits["Ines"] > 0 || waits["Wren"] == 0 {
		t.Errorf("results that wait: %v", waits)
	}
}

// A trial that names no lot holds for the one that was used first, by waters too: checks of the next one are those of a new lot on the
// bench as in a water's history, from its first use on.
func TestChecksOfALotThatFollowedAnother(t *testing.T) {
	s := benchtest.New(t)
	trial := s.Measured(s.Ines)
	rec := benchtest.Must(s.AdoptRecord(ctx, benchtest.Owner, calibrations.NewRecord{Trial: trial.ID, Version: s.Meter.VersionID, Program: "test 1"}))(t)
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "south tank"}, ""))(t)
	day := s.Clock.Now().AddDate(0, 0, -60)
	keep := func(lot, reading string, of knownwater.Sample) {
		t.Helper()
		n := benchtest.ReadBy(rec, reading)
		n.Of, n.Lot, n.TakenAt = &of, lot, day
		day = day.AddDate(0, 0, 2)
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	routine := knownwater.Sample{Water: w.ID, Role: knownwater.Routine}
	keep("A1", "5.0", routine)
	keep("A2", "5.2", routine)
	for range 6 {
		keep("A2", "7.6", knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06})
	}
	watched := benchtest.Must(s.Watch(ctx))(t)
	log := benchtest.Must(s.LogOfWater(ctx, w, unit.Scale{}))(t)
	checks := benchtest.Must(s.WaterHistory(ctx, log))(t).Checks
	if len(watched) != 1 || len(checks) != 1 || watched[0].Onset == nil || checks[0].Onset == nil {
		t.Fatalf("%d rows on the bench, %d in the history: %+v", len(watched), len(checks), watched)
	}
	if a, b := watched[0], checks[0]; !reflect.DeepEqual(a.Chart, b.Chart) || !reflect.DeepEqual(a.Onset, b.Onset) {
		t.Errorf("on the bench %+v %+v, in the history %+v %+v", a.Chart.Onset, a.Onset, b.Chart.Onset, b.Onset)
	}
}
