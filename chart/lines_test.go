package chart

import (
	"math"
	"strings"
	"testing"
)

// TestLinesMarks: the second set is open and dashed, and an interval of levels lies
// where it belongs.
func TestLinesMarks(t *testing.T) {
	l := Lines{ID: "l", Title: "t", Low: -5, High: 10, Rest: 0, Held: &Bar{Low: -4, High: -2, Notch: -3},
		Sets: []Series{{At: []float64{-3, 10}, Y: []float64{0, 1}, Seen: []Seen{{Level: 0, Signal: .2}, {Level: 20, Signal: 3}}}, {At: []float64{0, 10}, Y: []float64{.1, nan}, Seen: []Seen{{Level: 5, Signal: .5}, {Level: nan, Signal: 1}}}}}
	svg := l.SVG()
	for mark, want := range map[string]int{`class="m-read"`: 1, `class="m-held"`: 1, `class="m-curve"`: 1, `class="m-second"`: 1, `class="m-est plain"`: 1} {
		if n := strings.Count(svg, mark); n != want {
			t.Errorf("%s: %d marks, want %d", mark, n, want)
		}
	}
	f := frame{plotLeft, plotRight, -5, 10}
	if x, w := attr(svg, "m-est plain", "x"), attr(svg, "m-est plain", "width"); !(math.Abs(x[0]-f.at(-4)) <= 0.01) || !(math.Abs(w[0]-(f.at(-2)-f.at(-4))) <= 0.02) {
		t.Errorf("what it holds is drawn from %v, %v wide", x, w)
	}
	if none := (Lines{ID: "n", Title: "t", Low: 1, High: math.Inf(1)}).SVG(); strings.Contains(none, "Inf") || strings.Contains(none, "NaN") {
		t.Error("no figure is no sound one")
	}
}
