package chart

import (
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestCurveMarks: each vial has its mark, held-out ones open, and what lies
// beside the range is shaded in both parts.
func TestCurveMarks(t *testing.T) {
	c := Curve{ID: "c", Title: "t", At: []float64{0, 5, 8, 10}, Signal: []float64{0, .5, .8, 1}, From: 0, To: 8,
		Signals: []Seen{{1, .1, Fitted, ""}, {2, .2, Fitted, ""}, {5, .5, Held, ""}, {9, .8, Gone, ""}},
		Back:    []Back{{1, -.1, .1, 0, Fitted}, {5, -.2, .2, 0, Held}}}
	svg := c.SVG()
	for class, want := range map[string]int{`class="m-held"`: 1, `class="m-gone"`: 1, `class="m-read"`: 2, `class="m-est plain"`: 1, `class="m-est known"`: 1, `class="m-notch"`: 2, `class="m-range"`: 3, `class="m-curve out"`: 1, `fill="url(#c-o)"`: 2} {
		if n := strings.Count(svg, class); n != want {
			t.Errorf("%s: %d marks, want %d", class, n, want)
		}
	}
	c.To = 10
	if n := strings.Count(c.SVG(), "url(#"); n != 0 {
		t.Errorf("nothing lies beside the range, yet %d shades", n)
	}
	c.Permitted = []float64{.5, .5, .8, 1}
	if !strings.Contains(c.SVG(), `class="m-need"`) {
		t.Error("what is permitted is not drawn")
	}
	edges := strings.Split(c.SVG(), `class="m-stilec"`)[1:]
	for _, e := range edges {
		if path, _, _ := strings.Cut(e, "/>"); strings.Contains(path, "L1000 ") || !strings.Contains(path, "L500 ") {
			t.Errorf("an edge that leaves the frame beyond 5 of 10: %s", path)
		}
	}
	c.Permitted = []float64{.1, .1, .1, .1}
	if n := strings.Count(c.SVG(), `class="m-stilec"`); n != 2 {
		t.Errorf("what is permitted has %d edges, want 2", n)
	}
}

// TestCurveBandReachesTheEnds: a band goes as far as it was given, whatever the
// points of the curve are.
func TestCurveBandReachesTheEnds(t *testing.T) {
	c := Curve{ID: "c", Title: "t", At: []float64{0, 5, 8, 10}, Signal: []float64{0, .5, .8, 1}, From: 0, To: 8,
		Test: Band{[]float64{0, 4, 8}, []float64{-1, -1, -1}, []float64{1, 1, 1}}, Own: Band{[]float64{0, 8}, []float64{-.5, -.5}, []float64{.5, .5}}}
	svg := c.SVG()
	if n := strings.Count(svg, `class="m-band"`); n != 2 {
		t.Fatalf("%d bands", n)
	}
	for _, band := range strings.Split(svg, `class="m-band"`)[1:] {
		path, _, _ := strings.Cut(band[strings.Index(band, `d="`)+3:], `"`)
		if !strings.HasPrefix(path, "M0 ") || !strings.Contains(path, "L800 ") {
			t.Errorf("a band from 0 to 8 of 10 is drawn as %s", path)
		}
	}
}

// TestCurveTags: words stand below a rising curve and above a falling one, within
// the frame, and never on each other.
func TestCurveTags(t *testing.T) {
	at := regexp.MustCompile(`<text class="t (?:t-knowns|halo)"[^>]* x="([\d.]+)%" y="([\d.]+)"( text-anchor="end")?>(.*?)</text>`)
	c := Curve{ID: "c", Title: "t", At: []float64{0, 10}, Signal: []float64{0, 1}, From: 0, To: 10,
		Tags: []Tag{{1, .1, "one", Held}, {1.1, .11, "too near", Held}, {5, .5, "five", Held}, {9.9, .99, "top", Gone}}}
	found := at.FindAllStringSubmatch(c.SVG(), -1)
	if len(found) != 3 || found[0][4] != "one" || found[1][4] != "five" || found[2][4] != "top" {
		t.Fatalf("tags %q", found)
	}
	if found[2][3] == "" || found[0][3] != "" {
		t.Error("words at the right edge do not end there")
	}
	if y, _ := strconv.ParseFloat(found[2][2], 64); !(y < curveTop+curveHeight*.1) {
		t.Errorf("words at the right edge stand at %g, on the curve", y)
	}
	middle := curveTop + curveHeight/2
	if y, _ := strconv.ParseFloat(found[1][2], 64); !(y > middle) {
		t.Errorf("beside a rising curve at %g, the curve is at %g", y, middle)
	}
	c.Signal, c.Tags = []float64{1, 0}, []Tag{{1, .9, "one", Held}, {5, .5, "five", Held}}
	if y, _ := strconv.ParseFloat(at.FindAllStringSubmatch(c.SVG(), -1)[1][2], 64); !(y < middle) {
		t.Errorf("beside a falling curve at %g, the curve is at %g", y, middle)
	}
}

// What goes on beyond the range does not set the scale: else the
// dashed line would squeeze the curve into the bottom of the frame.
func TestCurveScaleIsOfTheRange(t *testing.T) {
	c := Curve{ID: "c", Title: "t", At: []float64{0, 2, 4, 8, 16}, Signal: []float64{0, 0.2, 0.4, 0.8, 1.6}, From: 0, To: 4,
		Signals: []Seen{{Level: 4, Signal: 0.4}, {Level: 16, Signal: 0.62, Use: Gone}}}
	svg := c.SVG()
	if !strings.Contains(svg, ">0.6</text>") || strings.Contains(svg, ">1.5</text>") || strings.Contains(svg, ">1</text>") {
		t.Errorf("the scale is that of the dashed line:\n%s", svg)
	}
}
