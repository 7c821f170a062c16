package history_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/num"
)

// another is a log of a tank that stays at 6: Ines, whose trial it was, reads it, and later, or on every other day, somebody who reads a fifth
// more. Checks are of who reads, or of both.
func another(seed uint64, turns, checks, both bool) (out []history.Entry) {
	rng := num.Source(seed, 61)
	for week := range 24 {
		who := "Ines"
		if turns && week%2 == 1 || !turns && week >= 12 {
			who = "Bert"
		}
		add := func(who string, c float64, check bool) {
			by := map[string]float64{"Ines": 1, "Bert": 1.2}[who]
			e := history.Entry{Row: len(out) + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "tank", Method: "Meter", Lot: "L1", Reader: who,
				Reading: fmt.Sprintf("%.2f", by*c+0.2*rng.NormFloat64()), Dilution: 1, Check: check}
			if check {
				e.Known, e.UKnown = c, 0.02
			}
			out = append(out, e)
		}
		add(who, 6, false)
		for _, who := range map[bool][]string{false: {who}, true: {"Ines", "Bert"}}[both] {
			if checks {
				add(who, 10, true)
			}
		}
	}
	return out
}

// A reader of whom the record says nothing is held apart as a new lot is: what he reads otherwise is not told as a rise of the water, nor as the
// method having moved, and whoever read the trial need not wait for his checks.
func TestAReaderWhomNobodyTried(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}}
	for seed, turns := range []bool{false, true} {
		for _, checks := range []bool{false, true} {
			h := ofLog(t, another(uint64(seed), turns, checks, turns), m)
			for _, c := range h.Changes {
				if c.Verdict == history.Rose || c.Verdict == history.Fell || !checks && c.Across == "Bert" && !math.IsNaN(c.Difference) {
					t.Errorf("turns %v, checks %v: %+v", turns, checks, c)
				}
			}
			if !turns && !checks && h.ChangesOf("tank").Broken == nil {
				t.Errorf("nothing is said to be broken: %+v", h.Changes)
			}
			b := bridge(t, h, history.OfReader)
			if linked := b.By == history.ByChecks && b.Low < 1.2 && 1.2 < b.High && b.Verdict == history.Different; linked != checks || !checks && b.By != history.ByNone {
				t.Errorf("turns %v, checks %v: %+v", turns, checks, b)
			}
			for _, c := range h.Checks {
				if want := map[string]control.State{"": control.Holds, "Bert": control.Moved}[c.Reader]; c.Chart.State != want && (c.Reader != "" || c.Chart.State == control.Moved) {
					t.Errorf("turns %v: read by %q: %s", turns, c.Reader, c.Chart.State)
				}
				if c.ReadBy("Ines") != (c.Reader == "") || c.ReadBy("Bert") != (c.Reader == "Bert") || !c.ReadBy("") != (c.Reader != "") {
					t.Errorf("read by %q", c.Reader)
				}
			}
			for _, r := range h.Results {
				if bert := r.Reader == "Bert"; (r.Standing == history.Waits) != (bert && checks) || (r.Again != nil) != (bert && checks) {
					t.Errorf("turns %v, checks %v, row %d by %s: %s, %v", turns, checks, r.Row, r.Reader, r.Standing, r.Again)
				}
			}
		}
	}
}

// Where none of a trial's readers is in the log, the first one of it is taken for them.
func TestAReaderAlone(t *testing.T) {
	l := another(3, true, true, false)
	for i := range l {
		l[i].Reader = map[string]string{"Ines": "Cara", "Bert": "Bert"}[l[i].Reader]
	}
	h := ofLog(t, l, history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}})
	for _, r := range h.Results {
		if (r.Again != nil) != (r.Reader == "Bert") {
			t.Errorf("row %d by %s: %v", r.Row, r.Reader, r.Again)
		}
	}
}

// A trial that tells three readers apart says how another may differ. One who reads further off than that is said to, by himself: the method
// has not moved, and nobody else's results wait for his checks.
func TestAReaderFurtherOffThanThoseTried(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordAs(t, meter, "Ines", "Cara", "Dag")}}}
	h := ofLog(t, another(1, true, true, true), m)
	if len(h.Checks) != 2 {
		t.Fatalf("%d rows of checks", len(h.Checks))
	}
	for _, c := range h.Checks {
		if (c.Chart.State == control.Moved) != (c.Reader == "Bert") || c.ReadBy("Dag") != (c.Reader == "") {
			t.Errorf("read by %q: %s", c.Reader, c.Chart.State)
		}
		if c.Reader == "Bert" && !c.Onset.Best.Equal(c.Entries[0].At.Truncate(24*time.Hour)) {
			t.Errorf("since %v, first read on %v", c.Onset.Best, c.Entries[0].At)
		}
	}
	for _, r := range h.Results {
		if (r.Standing == history.Waits) != (r.Reader == "Bert") {
			t.Errorf("row %d by %s: %s", r.Row, r.Reader, r.Standing)
		}
	}
	u := 1.2 * 0.2 * math.Sqrt(1./24/100+1./24/144) // of what checks of 10 and 12 say, by hand
	if b := bridge(t, h, history.OfReader); b.By != history.ByChecks || b.Checks != 48 || !(math.Abs(b.Ratio-1.2) < 2.6*u) || !(b.High-b.Low < 4*u) || b.Verdict != history.Different {
		t.Errorf("%+v", b)
	}
}
