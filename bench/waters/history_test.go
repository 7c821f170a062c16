package waters_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"knownwater"
	"knownwater/internal/benchtest"
	"knownwater/science/history"
	"knownwater/science/unit"
)

// A water read with one lot, then with another: nothing links them until a known was tested
// with the second one; then its results are expressed by what it reads.
func TestHistoryOfAWater(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "south tank"}, ""))(t)
	day := 0
	keep := func(readings, lot string, of knownwater.Sample) {
		t.Helper()
		n := benchtest.ReadBy(rec, readings)
		n.Of, n.Lot, n.Key = &of, lot, benchtest.NewKey()
		n.TakenAt = time.Date(2024, 3, 1, 12, 0, 0, 0, time.UTC).AddDate(0, 0, day)
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	for i := range 10 {
		day = 7 * i
		lot, text := "L1", "5.0"
		if i >= 5 {
			lot, text = "L2", "4.0"
		}
		keep(text, lot, knownwater.Sample{Water: w.ID, Role: knownwater.Routine})
	}
	judged := func() (history.History, int) {
		t.Helper()
		log := benchtest.Must(s.LogOfWater(ctx, w, unit.Scale{}))(t)
		h := benchtest.Must(s.WaterHistory(ctx, log))(t)
		if again := benchtest.Must(s.WaterHistory(ctx, log))(t); len(again.Results) != len(h.Results) {
			t.Error("remembered otherwise")
		}
		return h, len(log.By)
	}
	h, n := judged()
	if n != 10 || len(h.Bridges) != 1 || h.Bridges[0].By != history.ByNone || len(h.ChangesOf("south tank").Broken) == 0 {
		t.Fatalf("%d results, bridges %+v", n, h.Bridges)
	}
	for range 3 {
		keep("5.5", "L2", knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06})
		keep("6.8", "L1", knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06})
	}
	h, n = judged()
	if b := h.Bridges[0]; n != 10 || b.By != history.ByChecks || !(b.Low > 0.6 && b.High < 0.95) {
		t.Errorf("%d results, bridge %+v", n, b)
	}
	if !slices.ContainsFunc(h.Results, func(r history.Result) bool { return r.Lot == "L2" && r.Again != nil }) {
		t.Error("nothing is expressed anew")
	}
	log := benchtest.Must(s.LogOfWater(ctx, w, unit.Scale{}))(t)
	at := func(d int) time.Time { return time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, d) }
	c, ok, err := history.Compare(log.Entries, log.Methods, "south tank", history.Span{From: at(0), To: at(30)}, history.Span{From: at(34), To: at(70)})
	if err != nil || !ok || c.N != 5 || c.M != 5 || math.IsNaN(c.Difference) || c.Across != "L2" {
		t.Errorf("compared: %+v %v %v", c, ok, err)
	}
	if _, ok, err := history.Compare(log.Entries, log.Methods, "south tank", history.Span{From: at(900), To: at(930)}, history.Span{From: at(34), To: at(70)}); ok || err != nil {
		t.Errorf("days without results: %v %v", ok, err)
	}
}
