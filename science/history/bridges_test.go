package history_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"knownwater"
	"knownwater/science/history"
	"knownwater/science/num"
)

func ofLog(t *testing.T, l []history.Entry, m history.Methods) history.History {
	t.Helper()
	h, err := history.Of(l, m)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func bridge(t *testing.T, h history.History, kind history.BridgeKind) history.Bridge {
	t.Helper()
	for _, b := range h.Bridges {
		if b.Kind == kind {
			return b
		}
	}
	t.Fatalf("no bridge of a %s", kind)
	return history.Bridge{}
}

// A lot that reads 0.9 of what it should: linked by its checks the water stays as it is;
// without them nothing is said across.
func TestLotLinkedByChecks(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}, Matters: 0.35}
	l := log(0.9)
	h := ofLog(t, l, m)
	b := bridge(t, h, history.OfLot)
	if b.By != history.ByChecks || b.Verdict != history.Different || !(b.Low < 0.9 && 0.9 < b.High && b.High-b.Low < 0.06) {
		t.Errorf("%+v", b)
	}
	for _, c := range h.Changes {
		if c.Across == "L2" && (c.Verdict == history.Rose || c.Verdict == history.Fell || c.N == 0 || !(c.U < 0.55)) {
			t.Errorf("across the lot: %+v", c)
		}
	}
	for _, r := range h.Results {
		if (r.Again != nil) != (r.Lot == "L2") {
			t.Errorf("row %d: re-expressed %v", r.Row, r.Again)
		}
		if a := r.Again; a != nil && !(a.Result.Estimate > r.Outcome.Result.Estimate && a.Result.High-a.Result.Low > r.Outcome.Result.High-r.Outcome.Result.Low) {
			t.Errorf("row %d: %v, then %v", r.Row, r.Outcome.Result, a.Result)
		}
	}
	if len(h.Levels) != 20 || len(h.Slopes) != 1 || !(h.Slopes[0].Low < 0 && 0 < h.Slopes[0].High) {
		t.Errorf("%d levels, %+v", len(h.Levels), h.Slopes)
	}

	alone := slices.DeleteFunc(slices.Clone(l), func(e history.Entry) bool { return e.Check && e.Lot == "L2" })
	h = ofLog(t, alone, m)
	if b := bridge(t, h, history.OfLot); b.By != history.ByNone || b.Verdict != history.CannotBeTold || !math.IsNaN(b.Ratio) {
		t.Errorf("without checks: %+v", b)
	}
	told := 0
	for _, c := range h.Changes {
		if c.Across == "L2" || c.From.Before(l[20].At) && c.To.After(l[20].At) {
			told++
			if c.Verdict != history.CannotBeTold || !math.IsNaN(c.Difference) {
				t.Errorf("without checks: %+v", c)
			}
		}
	}
	if told == 0 || len(h.Slopes) != 2 {
		t.Errorf("%d changes across, %d slopes", told, len(h.Slopes))
	}
	if slices.ContainsFunc(h.Results, func(r history.Result) bool { return r.Again != nil }) {
		t.Error("re-expressed by nothing")
	}
}

// An axis is torn where a method or lot came, and nowhere else: least of all
// between stretches of a method whose readings mean no concentrations.
func TestTornWhereSomethingCame(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}, Kinds: map[string]knownwater.Method{"Twin": meter}}
	if broken := ofLog(t, twice(false), m).ChangesOf("tank").Broken; len(broken) != 1 || broken[0].Across != "Twin" {
		t.Errorf("another method: %+v", broken)
	}
}

// Without what matters nothing is the same for the need.
func TestNothingMatters(t *testing.T) {
	h := ofLog(t, log(1), history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}})
	for _, c := range h.Changes {
		if c.Verdict == history.SameForNeed || !math.IsNaN(c.PRiseMatters) {
			t.Errorf("%+v", c)
		}
	}
	if b := bridge(t, h, history.OfLot); b.Verdict == history.SameForNeed {
		t.Errorf("%+v", b)
	}
}

// twice is a log of one water read by a method and, later, by the same method under another
// name, with pairs that read alike.
func twice(pairs bool) (out []history.Entry) {
	rng := num.Source(21)
	for week := range 16 {
		at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week)
		method := "Meter"
		if week >= 8 {
			method = "Twin"
		}
		e := history.Entry{Row: 3 * week, At: at, Water: "tank", Method: method, Lot: "L1", Reader: "Ines", Reading: fmt.Sprintf("%.2f", 6+0.2*rng.NormFloat64()), Dilution: 1}
		out = append(out, e)
		if pairs && week < 6 {
			e.Water, e.Pair = "mixed", fmt.Sprint("p", week)
			other := e
			other.Row, other.Method = e.Row+1, "Twin"
			out = append(out, e, other)
		}
	}
	return out
}

// A method compared with itself has a ratio of exactly 1, with its doubt.
func TestAMethodAndItself(t *testing.T) {
	twin := meter
	twin.Name = "Twin"
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}, "Twin": {recordAs(t, twin)}}}
	for by, pairs := range map[history.By]bool{history.ByTrial: false, history.ByPairs: true} {
		b := bridge(t, ofLog(t, twice(pairs), m), history.OfMethod)
		if b.By != by || math.Abs(b.Ratio-1) > 1e-12 || !(b.Low < 1 && 1 < b.High) {
			t.Errorf("%s: %+v", by, b)
		}
	}
	// without a record for either, pairs still tie them
	m = history.Methods{Kinds: map[string]knownwater.Method{"Meter": meter, "Twin": meter}}
	if b := bridge(t, ofLog(t, twice(true), m), history.OfMethod); b.By != history.ByPairs || b.Ratio != 1 {
		t.Errorf("without records: %+v", b)
	}
	if b := bridge(t, ofLog(t, twice(false), m), history.OfMethod); b.By != history.ByNone || b.Verdict != history.CannotBeTold {
		t.Errorf("without anything: %+v", b)
	}
}

// The order of entry changes nothing at all.
func TestOrderOfEntry(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}, "Twin": {recordOf(t)}}, Matters: 0.5}
	l := append(twice(true), log(0.9)...)
	for i := range l {
		l[i].Row = i + 2
	}
	want := ofLog(t, l, m)
	mixed := slices.Clone(l)
	rand.New(rand.NewPCG(5, 6)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	got := ofLog(t, mixed, m)
	if !reflect.DeepEqual(fmt.Sprint(want.Bridges, want.Changes, want.Slopes, want.Levels), fmt.Sprint(got.Bridges, got.Changes, got.Slopes, got.Levels)) {
		t.Error("another order, another history")
	}
}

// A water that does not change is said to have risen or fallen in at most 5 of 100 logs; a
// change as large as the smallest seen is called in about 95.
func TestRarelyWronglyCalled(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}}
	rng := num.Source(31)
	const runs, step = 30, 1.8
	wrong, called, could := 0, 0, 0
	var smallest []float64
	for range runs {
		var l []history.Entry
		tank := func(water string, level func(week int) float64) {
			for week := range 30 {
				l = append(l, history.Entry{Row: len(l) + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: water, Method: "Meter", Lot: "L1", Reader: "Ines",
					Reading: fmt.Sprintf("%.2f", level(week)+0.2*rng.NormFloat64()), Dilution: 1})
			}
		}
		tank("still", func(int) float64 { return 5 })
		tank("moved", func(week int) float64 {
			if week < 15 {
				return 5
			}
			return 5 + step
		})
		h := ofLog(t, l, m)
		hit := map[string]bool{}
		for _, c := range h.Changes {
			if c.Verdict == history.Rose || c.Verdict == history.Fell {
				hit[c.Water] = true
			}
			if c.Water == "moved" && c.Whole {
				smallest = append(smallest, c.Smallest)
				if c.Smallest <= step {
					could++
					if hit["moved"] || c.Verdict == history.Rose {
						called++
					}
				}
			}
		}
		if hit["still"] {
			wrong++
		}
	}
	if m := num.QuantileOf(smallest, 0.5); m < 0.45 || m > 1.8 {
		t.Errorf("the smallest change seen is %g", m)
	}
	if wrong > 3 || could < runs/2 || called < could-3 {
		t.Errorf("of %d still waters %d are said to have changed; of %d that moved by what is seen %d", runs, wrong, could, called)
	}
}

// Methods of which no record says how they scatter are not told apart by what one reading of each happened to show: pairs and checks
// link them from two degrees of freedom on, and methods or lots that read alike are different in at most 5 of 100.
func TestLinkedWithoutARecord(t *testing.T) {
	twin := meter
	twin.Name = "Twin"
	m := history.Methods{Kinds: map[string]knownwater.Method{"Meter": meter, "Twin": twin}}
	for _, c := range []struct {
		kind  history.BridgeKind
		n     int
		links bool
	}{{history.OfMethod, 1, false}, {history.OfMethod, 2, false}, {history.OfMethod, 3, true}, {history.OfMethod, 8, true}, {history.OfLot, 1, false}, {history.OfLot, 2, true}, {history.OfLot, 4, true}} {
		rng := num.Source(47, uint64(c.n))
		const runs = 100
		different, linked := 0, 0
		for range runs {
			var l []history.Entry
			put := func(week int, level float64, second bool, also history.Entry) {
				e := also
				e.Row, e.At = len(l)+2, time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week)
				e.Method, e.Lot, e.Reader, e.Dilution = "Meter", "L1", "Ines", 1
				if second && c.kind == history.OfMethod {
					e.Method = "Twin"
				} else if second {
					e.Lot = "L2"
				}
				e.Reading = fmt.Sprintf("%.2f", level*(1+0.1*rng.NormFloat64()))
				l = append(l, e)
			}
			for week := range 4 {
				put(week, 6, week >= 2, history.Entry{Water: "tank"})
			}
			for k := range c.n {
				for _, second := range []bool{false, true} {
					also := history.Entry{Water: "mixed", Pair: fmt.Sprint("p", k)}
					if c.kind == history.OfLot {
						also = history.Entry{Water: "check", Check: true, Known: 8}
					}
					put(1, 8, second, also)
				}
			}
			b := bridge(t, ofLog(t, l, m), c.kind)
			if b.By != history.ByNone {
				linked++
			}
			if b.Verdict == history.Different {
				different++
			}
		}
		t.Logf("%d of a %s: %d of %d linked, %d different", c.n, c.kind, linked, runs, different)
		if c.links != (linked > runs/2) || !c.links && linked > 0 {
			t.Errorf("%d of a %s: %d of %d linked", c.n, c.kind, linked, runs)
		}
		if different > 11 { // 5 %, and three standard errors
			t.Errorf("%d of a %s: %d of %d that read alike are different", c.n, c.kind, different, runs)
		}
	}
}
