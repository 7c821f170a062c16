package reading

import (
	"math"
	"testing"

	"knownwater"
	"knownwater/science/interval"
)

// oneOf is a method of each kind, on a scale of its own and on another.
func oneOf(k Kind) knownwater.Method {
	m := knownwater.Method{Name: "M", Kind: k.Kind}
	if k.Has("swatches") {
		m.Swatches, m.AtShare = []float64{0, 1, 2.5, 5, 10}, 0.25
	}
	if k.Has("drop_value") {
		m.DropValue = 0.5
	}
	if k.Has("resolution") {
		m.Resolution, m.Range = 0.1, &interval.Interval{Low: 0, High: 20}
	}
	return m
}

// Whatever a method shows for a response, understood again, covers the response;
// what it can show tiles the axis, and its mean lies in its bounds.
func TestEveryKind(t *testing.T) {
	for _, k := range Kinds() {
		for _, factor := range []float64{1, 0.062004} {
			m := OnScale(oneOf(k), factor)
			if fs := Faults(Own(m)); len(fs) > 0 {
				t.Fatalf("%s: %v", k.Kind, fs)
			}
			for _, y := range []float64{0, 0.03, 0.26, 0.74, 1.26, 3, 4.9, 8.4, 9.99} {
				text := Show(y*factor, m)
				seen, err := Understand(text, m)
				if err != nil || !(seen.Low <= y*factor*(1+1e-12) && y*factor <= seen.High*(1+1e-12)) {
					t.Errorf("%s × %v: %v is shown as %q, understood as %v, %v", k.Kind, factor, y*factor, text, seen, err)
				}
			}
			if b := Bounds(m); !(b.Low <= 0 && b.High >= 10*factor) || k.FromNothing && b.Low != 0 {
				t.Errorf("%s: bounds %v", k.Kind, b)
			}
			low := math.Inf(-1)
			for i, a := range Answers(m, 5*factor) {
				if a.Seen.Low != low {
					t.Errorf("%s: answer %d begins at %v, the one before ends at %v", k.Kind, i, a.Seen.Low, low)
				}
				low = a.Seen.High
			}
			if low != math.Inf(-1) && !math.IsInf(low, 1) {
				t.Errorf("%s: the answers end at %v", k.Kind, low)
			}
		}
		if k.Says == "" || k.Shown == "" || k.Pad.Form == "" || k.Curve == "" || k.Guess == (Guess{}) || len(k.Keys) == 0 {
			t.Errorf("%s: a hole in the table: %+v", k.Kind, k)
		}
	}
	if Of("hologram").Kind != "" {
		t.Error("a word that is no kind is one")
	}
}

// Neighbours meet in the very same number, where rounding once made them miss
// (found by drawing: at_share 0.5 between swatches a hundredth apart).
func TestTilesThatOnceMissedEachOther(t *testing.T) {
	for _, c := range []struct {
		swatches []float64
		share    float64
	}{{[]float64{0, 0.01}, 0.5}, {[]float64{0, 0.1, 0.3}, 0.5}, {[]float64{0.1, 0.7, 1.9}, 1. / 3}} {
		tiles := Tiles(knownwater.Method{Name: "C", Kind: knownwater.Chart, Swatches: c.swatches, AtShare: c.share})
		for i := 1; i < len(tiles); i++ {
			if tiles[i-1].Seen.High != tiles[i].Seen.Low {
				t.Errorf("%v at %v: %s ends at %v, %s starts at %v", c.swatches, c.share, tiles[i-1].Text, tiles[i-1].Seen.High, tiles[i].Text, tiles[i].Seen.Low)
			}
		}
	}
}
