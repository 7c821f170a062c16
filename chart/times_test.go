package chart

import (
	"math"
	"strings"
	"testing"
)

// No guide, need or bar runs over a tear: its gap is drawn over them, with two torn edges;
// what is not judged is hatched.
func TestTornAxis(t *testing.T) {
	scale := ScaleFor(1, 4, 8)
	f := Times{ID: "x", Title: "torn", Height: 100, First: 0, Last: 100, Scale: &scale, Known: math.NaN(), Need: &Stretch{Low: 2, High: 5},
		Bars: []TimeBar{{10, Bar{Low: 3, High: 4, Notch: 3.5}}}, Was: []TimeMark{{10, 2}}}
	whole := f.SVG()
	f.Tears, f.Off = []float64{50}, []Stretch{{Low: 0, High: 50}}
	torn := f.SVG()
	if n := strings.Count(torn, `class="m-range"`); n != 2 || strings.Contains(whole, `class="m-range"`) {
		t.Errorf("%d torn edges", n)
	}
	if strings.Index(torn, `class="r-void"`) < strings.LastIndex(torn, `class="m-guide"`) {
		t.Error("a guide runs over the tear")
	}
	if !strings.Contains(torn, "url(#x-o)") || strings.Contains(whole, "url(#x-o)") {
		t.Error("what is not judged is not hatched")
	}
	if !strings.Contains(whole, `class="m-gone"`) {
		t.Error("the value as it was said is missing")
	}
}
