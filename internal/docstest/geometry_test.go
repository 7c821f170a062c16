package docstest

import (
	"regexp"
	"testing"

	"knownwater/internal/figuretest"
)

var ladderID = regexp.MustCompile(`aria-labelledby="ladder-`)

// No label of the demo's figures lies on a mark or on another label, at the widths
// that figures have on a phone, in print, and on a desk.
func TestDemoFiguresCanBeRead(t *testing.T) {
	figures := figuretest.Figures(theDemo(t).page)
	if len(figures) < 50 {
		t.Fatalf("%d figures in the demo's report", len(figures))
	}
	for _, svg := range figures {
		for _, width := range widthsOf(svg) {
			faults, err := figuretest.Faults(svg, width)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range faults {
				t.Errorf("%.60s…, %g wide: %s", regexp.MustCompile(`<title[^>]*>([^<]*)`).FindString(svg), width, f)
			}
		}
	}
}

// widthsOf are the widths of a kind of figure: ladders stand side by side.
func widthsOf(svg string) []float64 {
	if ladderID.MatchString(svg) {
		return []float64{205, 350, 720}
	}
	if regexp.MustCompile(`^<svg[^>]*class="fig"`).MatchString(svg) {
		return []float64{300, 720}
	}
	return nil // rows have no labels but their axis
}
