package history_test

import (
	"fmt"
	"testing"
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
)

// Records are of knowns: where a water makes one of two methods read 7 % more, samples read with both say so alone, and that it read so from the
// day on which it came is no rise of the water.
func TestPairsOfAMethodThatAWaterMoves(t *testing.T) {
	twin := meter
	twin.Name = "Twin"
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}, "Twin": {recordAs(t, twin)}}}
	const more = 1.07
	held, runs := 0, 3
	for run := range runs {
		rng := num.Source(uint64(run), 62)
		var l []history.Entry
		put := func(week int, water, method, pair string, level float64) {
			if method == "Twin" {
				level *= more
			}
			l = append(l, history.Entry{Row: len(l) + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: water, Method: method, Lot: "L1", Reader: "Ines",
				Reading: fmt.Sprintf("%.1f", level+0.2*rng.NormFloat64()), Dilution: 1, Pair: pair})
		}
		for week := range 12 {
			put(week, "tank", map[bool]string{false: "Meter", true: "Twin"}[week >= 6], "", 6)
		}
		for k := range 5 {
			for _, method := range []string{"Meter", "Twin"} {
				put(6, fmt.Sprint("sample ", k), method, fmt.Sprint("p", k), 5+float64(k)/2)
			}
		}
		h := ofLog(t, l, m)
		if b := bridge(t, h, history.OfMethod); b.By == history.ByPairs && b.Low < more && more < b.High {
			held++
		}
		for _, c := range h.Changes {
			if c.Verdict == history.Rose || c.Verdict == history.Fell {
				t.Errorf("run %d: %+v", run, c)
			}
		}
		for _, r := range h.Results {
			if older := r.Method == "Meter"; older != (r.Again != nil) || older && r.Doubt.Code != "re-expressed-pairs" {
				t.Fatalf("run %d, row %d: %v, %v", run, r.Row, r.Again, r.Doubt)
			}
		}
	}
	if held < runs {
		t.Errorf("held in %d of %d", held, runs)
	}
}
