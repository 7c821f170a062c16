package waters_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/waters"
	"knownwater/internal/benchtest"
	"knownwater/science/history"
	"knownwater/science/unit"
)

// An earlier log is in a water's history, read by the record of its method; a method that nobody
// knows has none, and taken out it is gone from all that is said.
func TestEarlierLog(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: "south tank"}, ""))(t)
	entry := func(row, day int, water, method, text string) history.Entry {
		return history.Entry{Row: row, At: time.Date(2023, 3, 1, 12, 0, 0, 0, time.UTC).AddDate(0, 0, day), Water: water, Method: method, Reading: text, Lot: history.UnknownLot, Dilution: 1, Known: math.NaN()}
	}
	log := waters.EarlierLog{Name: "old.csv", Digest: "1", Said: waters.EarlierSaid{Lot: history.UnknownLot, Kinds: map[string]knownwater.Method{"unknown": {Name: "unknown", Kind: knownwater.Display, Resolution: 1}}}}
	rows := []waters.EarlierRow{
		{Water: w.ID, Method: rec.Method, Entry: entry(2, 0, "south", rec.Spec.Method, "5.0"), Rest: "Wetter: Regen"},
		{Water: w.ID, Entry: entry(3, 7, "south", "unknown", "6")},
		{Entry: entry(4, 8, "a new tank", "unknown", "7")},
	}
	kept := benchtest.Must(s.KeepEarlierLog(ctx, benchtest.Owner, log, rows))(t)
	if _, err := s.KeepEarlierLog(ctx, benchtest.Owner, log, rows); err == nil || !strings.Contains(err.Error(), "the same table was brought in on") {
		t.Errorf("twice: %v", err)
	}
	judged := func() history.History {
		t.Helper()
		return benchtest.Must(s.WaterHistory(ctx, benchtest.Must(s.LogOfWater(ctx, w, unit.Scale{}))(t)))(t)
	}
	h := judged()
	if len(h.Results) != 2 || h.Results[0].Outcome == nil || h.Results[1].Outcome != nil {
		t.Fatalf("%+v", h.Results)
	}
	stated := benchtest.Must(s.KeepEarlierLog(ctx, benchtest.Owner, waters.EarlierLog{Name: "stated.csv", Digest: "2"}, []waters.EarlierRow{{Water: w.ID, Method: rec.Method, Entry: func() history.Entry {
		e := entry(2, 1, "south", rec.Spec.Method, "5.0")
		e.Lot = "L1"
		return e
	}()}}))(t)
	h = judged()
	if a, b := h.Results[0].Outcome.Result, h.Results[1].Outcome.Result; !(a.High-a.Low > b.High-b.Low) {
		t.Errorf("of a lot nobody knows %.3g wide, of a stated one %.3g", a.High-a.Low, b.High-b.Low)
	}
	all := benchtest.Must(s.Waters(ctx))(t)
	if all[0].Spec.Name != "a new tank" {
		t.Errorf("waters: %+v", all)
	}
	for _, id := range []int64{kept.ID, stated.ID} {
		if err := s.PlaceEarlierLog(ctx, benchtest.Owner, id, true, "of another tank"); err != nil {
			t.Fatal(err)
		}
	}
	if h = judged(); len(h.Results) != 0 {
		t.Errorf("taken out, and %d results are there", len(h.Results))
	}
	if err := s.PlaceEarlierLog(ctx, benchtest.Owner, kept.ID, false, "it was right"); err != nil {
		t.Fatal(err)
	}
	if h = judged(); len(h.Results) != 2 {
		t.Errorf("put back, and %d results are there", len(h.Results))
	}
	logs := benchtest.Must(s.EarlierLogs(ctx))(t)
	if len(logs) != 2 || !logs[0].Removed || logs[1].Removed || logs[1].Why != "it was right" || logs[1].Readings != 3 {
		t.Errorf("%+v", logs)
	}
	if _, err := s.KeepEarlierLog(ctx, s.Ines, log, rows); err == nil {
		t.Error("a reader brought one in")
	}
	bad := []waters.EarlierRow{{Water: w.ID, Entry: entry(9, 0, "", "", "5")}}
	if _, err := s.KeepEarlierLog(ctx, benchtest.Owner, waters.EarlierLog{Name: "bad.csv", Digest: "3"}, bad); err == nil || !strings.Contains(err.Error(), "bad.csv:9") {
		t.Errorf("a row without a method: %v", err)
	}
}
