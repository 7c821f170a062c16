package chart

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"
)

func spectrum() Spectrum {
	return Spectrum{ID: "s", Title: "t", At: []float64{500, 510, 520, 530, 540}, Chosen: 520, Across: "nm",
		Panels: []Panel{{Name: "rise", Y: []float64{1, 2, 3, 2, math.NaN()}, Low: 0, High: 4, Good: []bool{false, true, true, false, true}, Height: 100},
			{Name: "bend", Y: []float64{-50, 0, 1, 2, 3}, Low: -20, High: 20, Margin: 5, Scatter: []float64{1, 1, 1, 1, 1}, Height: 80}},
		Sources: []Source{{20, "20 wide"}, {30, "30 wide"}}}
}

// TestSpectrumMarks: the chosen wavelength is marked in each panel, the sources
// cover their width about it, and good wavelengths are marked in stretches.
func TestSpectrumMarks(t *testing.T) {
	svg := spectrum().SVG()
	for mark, want := range map[string]int{`class="m-chosen"`: 2, `class="m-est plain"`: 2, `class="m-curve"`: 2, `class="m-need"`: 1, `class="m-stile"`: 2, `<rect class="m-band"`: 2, `<path class="m-band"`: 1} {
		if n := strings.Count(svg, mark); n != want {
			t.Errorf("%s: %d marks, want %d", mark, n, want)
		}
	}
	x, w := attr(svg, "m-est plain", "x"), attr(svg, "m-est plain", "width")
	f := frame{plotLeft, plotRight, 500, 540}
	for i, width := range []float64{20, 30} {
		if !(math.Abs(x[i]-f.at(520-width/2)) <= 0.01) || !(math.Abs(w[i]-(f.at(520+width/2)-f.at(520-width/2))) <= 0.02) {
			t.Errorf("a source of %g nm is drawn from %g, %g wide", width, x[i], w[i])
		}
	}
	if at := attr(svg, "m-chosen", "x1"); len(at) != 2 || at[0] != at[1] || !(math.Abs(at[0]-f.at(520)) <= 0.01) {
		t.Errorf("chosen at %v", at)
	}
	s := spectrum()
	s.Chosen = 700
	if strings.Contains(s.SVG(), `class="m-chosen"`) {
		t.Error("a wavelength outside is marked")
	}
}

func TestSpectrumIsSoundXML(t *testing.T) {
	s := spectrum()
	s.Title, s.Across = "</title><script>", "<&"
	s.Panels[0].Name, s.Sources[0].Words = "\"'<", "</text>"
	for name, s := range map[string]Spectrum{"hostile": s, "empty": {ID: "e", Title: "t"}, "no range": {ID: "n", Title: "t", At: []float64{1, 2}, Chosen: math.NaN(), Panels: []Panel{{Y: []float64{math.Inf(1), 1}, High: math.NaN(), Height: 9}}}} {
		d := xml.NewDecoder(strings.NewReader(s.SVG()))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v\n%s", name, err, s.SVG())
			}
		}
		for _, bad := range []string{"NaN", "Inf", "<script"} {
			if strings.Contains(s.SVG(), bad) {
				t.Errorf("%s: %s in the figure", name, bad)
			}
		}
	}
}
