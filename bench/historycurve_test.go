package bench_test

import (
	"fmt"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/internal/benchtest"
	"knownwater/science/history"
	"knownwater/science/unit"
)

// A water read by a curve has a history: by each version of it, signals that were typed once or twice; what had
// its own colour taken off is left out, and said.
func TestHistoryByACurve(t *testing.T) {
	s := benchtest.New(t)
	spec := benchtest.CurveSpec()
	c := benchtest.Must(s.SaveCurve(ctx, benchtest.Owner, 0, spec, ""))(t)
	c = benchtest.Must(s.AdoptCurve(ctx, benchtest.Owner, c.VersionID, ""))(t)
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "south tank"}, ""))(t)
	off := []float64{0.001, -0.0009, 0.0004, -0.0012, 0.0008}
	keep := func(week int, level float64, more calibrations.NewResult) {
		t.Helper()
		y := 0.012 + 0.068*level - 0.0007*level*level + off[week%5]
		n := more
		n.Version, n.Key = c.VersionID, benchtest.NewKey()
		n.Signals = fmt.Sprintf("%.4f; %.4f", y, y+0.0011)
		n.Water, n.Of = "south tank", &knownwater.Sample{Water: w.ID, Role: knownwater.Routine}
		n.TakenAt = time.Date(2024, 3, 1, 12, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week)
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	for week := range 10 {
		level := 3.0
		if week >= 5 {
			level = 6
		}
		keep(week, level, calibrations.NewResult{})
	}
	keep(10, 6, calibrations.NewResult{OwnColour: "0.002"})
	log := benchtest.Must(s.LogOfWater(ctx, w, unit.Scale{}))(t)
	h := benchtest.Must(s.WaterHistory(ctx, log))(t)
	if len(log.By) != 10 || log.Left != 1 || len(h.Results) != 20 || len(h.Levels) != 20 {
		t.Fatalf("%d results, %d left, %d readings, %d levels", len(log.By), log.Left, len(h.Results), len(h.Levels))
	}
	rose, told := false, false
	for _, x := range h.Changes {
		rose = rose || x.Verdict == history.Rose && x.Low < 3 && 3 < x.High
	}
	for _, n := range h.Notes {
		told = told || n.Code == "curve-results-left"
	}
	if !rose || !told {
		t.Errorf("rose %v, told %v: %+v", rose, told, h.Changes)
	}
}
