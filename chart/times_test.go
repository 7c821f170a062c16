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

// The band lies behind the bars and breaks where a value is not known.
func TestLevelBehindBars(t *testing.T) {
	scale := ScaleFor(1, 4, 8)
	nan := math.NaN()
	f := Times{ID: "x", Title: "band", Height: 100, First: 0, Last: 100, Scale: &scale, Known: nan, Bars: []TimeBar{{10, Bar{Low: 3, High: 4, Notch: 3.5}}},
		Level: Band{At: []float64{0, 40, 50, 60, 100}, Low: []float64{2, 3, nan, 3, 3}, High: []float64{4, 5, nan, 5, 6}}}
	svg := f.SVG()
	if n := strings.Count(svg, `<path class="m-band"`); n != 2 {
		t.Errorf("%d pieces of a band that breaks once", n)
	}
	if strings.LastIndex(svg, "m-band") > strings.Index(svg, `<rect class="m-est`) {
		t.Error("the band lies over the bars")
	}
}
