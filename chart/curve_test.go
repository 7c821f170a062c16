package chart

import (
	"strings"
	"testing"
)

// TestCurveMarks: each vial has its mark, held-out ones open, and what lies
// beside the range is shaded in both parts.
func TestCurveMarks(t *testing.T) {
	c := Curve{ID: "c", Title: "t", At: []float64{0, 5, 10}, Signal: []float64{0, .5, 1}, From: 0, To: 8,
		Signals: []Seen{{1, .1, Fitted}, {2, .2, Fitted}, {5, .5, Held}, {9, .8, Gone}},
		Back:    []Back{{1, -.1, .1, 0, Fitted}, {5, -.2, .2, 0, Held}}}
	svg := c.SVG()
	for class, want := range map[string]int{`class="m-held"`: 3, `class="m-gone"`: 1, `class="m-read"`: 4, `fill="url(#c-o)"`: 2} {
		if n := strings.Count(svg, class); n != want {
			t.Errorf("%s: %d marks, want %d", class, n, want)
		}
	}
	c.To = 10
	if n := strings.Count(c.SVG(), "url(#"); n != 0 {
		t.Errorf("nothing lies beside the range, yet %d shades", n)
	}
	c.Permitted = []float64{.5, .5, 1}
	if !strings.Contains(c.SVG(), `class="m-need"`) {
		t.Error("what is permitted is not drawn")
	}
}
