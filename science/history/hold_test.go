package history_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"knownwater/science/history"
)

func heldIn(t *testing.T, ranges ...history.Range) history.Methods {
	t.Helper()
	return history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}, Hold: ranges}
}

// A tank at 4, read with a scatter of 0.2: inside 3 to 5 all the time, outside 5 to 6 all the time,
// and at 4 half of what is left open lies above.
func TestHoldARange(t *testing.T) {
	m := heldIn(t, history.Range{Need: "wide", Low: 3, High: 5}, history.Range{Need: "off", Low: 5.5, High: 7}, history.Range{Need: "edge", Low: 4, High: 9, Sure: 0.9})
	l := log(1)
	h := ofLog(t, l, m)
	if len(h.Holds) != 3 {
		t.Fatalf("%d of three ranges", len(h.Holds))
	}
	wide, off, edge := h.Holds[0], h.Holds[1], h.Holds[2]
	if !(wide.Low > 0.95 && wide.High == 1 && wide.Now > 0.99 && wide.Inside > 0.98) || wide.Range.Sure != 0.95 || !wide.TestBy.After(wide.Next) {
		t.Errorf("3 to 5: %+v", wide)
	}
	if !(off.High < 0.05 && off.Now < 0.01 && off.Below > 0.98) || off.TestBy.After(off.To) {
		t.Errorf("5.5 to 7: %+v", off)
	}
	if !(edge.Low < 0.5 && edge.High > 0.5 && edge.Inside > 0.05 && edge.Inside < 0.95) || edge.Range.Sure != 0.9 {
		t.Errorf("4 to 9: %+v", edge)
	}
	if wide.Next.Sub(wide.To).Hours() > 7*24 || wide.Next.Before(wide.To) {
		t.Errorf("tested every week: next %v after %v", wide.Next, wide.To)
	}
	for _, x := range h.Holds {
		if sum := x.Below + x.Inside + x.Above; math.Abs(sum-1) > 1e-9 || x.Share < x.Low || x.Share > x.High {
			t.Errorf("%s: chances sum to %v, share %v in %v to %v", x.Range.Need, sum, x.Share, x.Low, x.High)
		}
	}
	// the day to test by is the last one that is sure enough
	if wide.Beyond != (wide.TestBy.Sub(wide.To).Hours()/24 > float64(7*19-2)) {
		t.Errorf("test by %v, beyond %v", wide.TestBy, wide.Beyond)
	}
	mixed := slices.Clone(l)
	rand.New(rand.NewPCG(3, 4)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	if again := ofLog(t, mixed, m); !reflect.DeepEqual(h.Holds, again.Holds) {
		t.Error("the order of entry changed what is said of ranges")
	}
	if none := ofLog(t, l, heldIn(t)); len(none.Holds) != 0 {
		t.Error("no range was asked for")
	}
}

// Of a range that is narrower than what is open of the level no share is told, but what becomes of it is.
func TestHoldOfANarrowRange(t *testing.T) {
	h := ofLog(t, log(1), heldIn(t, history.Range{Low: 3.99, High: 4.01}, history.Range{Low: 3, High: 5})).Holds
	if h[0].Why == nil || h[0].Why.Code != "hold-narrow" || !math.IsNaN(h[0].Share) || !math.IsNaN(h[0].Low) || !math.IsNaN(h[0].High) {
		t.Errorf("3.99 to 4.01: %+v", h[0])
	}
	if !(h[0].Inside > 0 && h[0].Inside < 0.2) || h[0].Next.IsZero() || h[0].TestBy.IsZero() {
		t.Errorf("days to come: %+v", h[0])
	}
	if h[1].Why != nil || math.IsNaN(h[1].Share) {
		t.Errorf("3 to 5: %+v", h[1])
	}
}

// Across what nothing links nothing is said: each side by itself, and days to come only of
// the newest one, which here is not tied to known water.
func TestHoldStopsAtABreak(t *testing.T) {
	m := heldIn(t, history.Range{Low: 3, High: 5})
	alone := slices.DeleteFunc(log(0.9), func(e history.Entry) bool { return e.Check && e.Lot == "L2" })
	h := ofLog(t, alone, m)
	if len(h.Holds) != 2 {
		t.Fatalf("%d stretches", len(h.Holds))
	}
	before, after := h.Holds[0], h.Holds[1]
	if before.Last || !math.IsNaN(before.Inside) || !(before.Share > 0.9) || !before.TestBy.IsZero() {
		t.Errorf("before the break: %+v", before)
	}
	if after.Why == nil || after.Why.Code != "hold-not-tied" || !math.IsNaN(after.Share) || !math.IsNaN(after.Inside) {
		t.Errorf("after it: %+v", after)
	}
	for n, want := range map[int]string{11: "hold-too-few", 13: ""} {
		few := slices.DeleteFunc(log(1), func(e history.Entry) bool { return e.Row > n })
		got := ""
		if why := ofLog(t, few, m).Holds[0].Why; why != nil {
			got = why.Code
		}
		if got != want {
			t.Errorf("%d rows: %q, should be %q", n, got, want)
		}
	}
}

// The surer one wants to be, the sooner to test; a water that wanders more is tested sooner.
func TestTestBy(t *testing.T) {
	var by [3]string
	for i, sure := range []float64{0.8, 0.95, 0.99} {
		by[i] = fmt.Sprint(ofLog(t, log(1), heldIn(t, history.Range{Low: 3.4, High: 4.6, Sure: sure})).Holds[0].TestBy.Format("2006-01-02"))
	}
	if !(by[0] >= by[1] && by[1] >= by[2]) || by[0] == by[2] {
		t.Errorf("test by %v", by)
	}
}
