package raster

import (
	"bytes"
	"image/color"
	"image/png"
	"math"
	"testing"
)

// A figure of every element that package chart writes, with what each must do: per
// cents of the width, pixels of the height, a stretched frame that cuts, a mark that
// does not, hatching, dashes, labels at their anchors.
const drawing = `<svg xmlns="http://www.w3.org/2000/svg" class="fig" width="100%" height="100" font-size="12"><title>t</title>
<defs><pattern id="h" width="5" height="5" patternTransform="rotate(45)"><rect fill="#ffffff"/><path stroke="#ff0000" stroke-width="2" d="M0 0V5"/></pattern></defs>
<rect class="a" fill="#0000ff" x="10%" width="20%" y="10" height="20"/>
<g stroke="#00ff00" stroke-width="4"><line x1="50%" x2="100%" y1="50" y2="50"/></g>
<svg x="0%" width="50%" y="40" height="50" viewBox="0 0 1000 1000" preserveAspectRatio="none"><path fill="none" stroke="#000000" d="M0 500L2000 500"/></svg>
<svg x="90%" y="80" width="1" height="1" overflow="visible"><path fill="#00ffff" d="M-4 -4H4V4H-4Z"/></svg>
<rect fill="url(#h)" x="60%" width="20%" y="0" height="40"/>
<text x="50%" y="20" text-anchor="middle" fill="#000000">mid</text></svg>`

func TestLayAndPaint(t *testing.T) {
	s, err := Lay(drawing, 200)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range s.Shapes {
		if x.Stroke == (color.NRGBA{0, 0, 0, 255}) {
			if end := x.Lines[0][len(x.Lines[0])-1]; !(math.Abs(end.X-100) <= 1e-9) || !(math.Abs(end.Y-65) <= 1e-9) {
				t.Errorf("a line that leaves its frame ends at %v, want 100, 65", end)
			}
		}
	}
	if l := s.Labels[0]; !(math.Abs(l.X+l.Width()/2-100) <= .1) {
		t.Errorf("a label in the middle begins at %g and is %g wide", l.X, l.Width())
	}
	var b bytes.Buffer
	if err := s.PNG(&b, 2); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if img.Bounds().Dx() != 400 || img.Bounds().Dy() != 200 {
		t.Fatalf("painted %v", img.Bounds())
	}
	for _, c := range []struct {
		x, y int // in pixels of the figure
		want color.NRGBA
	}{
		{25, 15, color.NRGBA{0, 0, 255, 255}}, {15, 15, paper}, {65, 15, paper},
		{150, 50, color.NRGBA{0, 255, 0, 255}}, {150, 53, paper}, {120, 65, paper},
		{180, 80, color.NRGBA{0, 255, 255, 255}}, {185, 80, paper},
	} {
		if got := color.NRGBAModel.Convert(img.At(2*c.x, 2*c.y)); got != c.want {
			t.Errorf("at %d, %d: %v, want %v", c.x, c.y, got, c.want)
		}
	}
	red, white := 0, 0
	for x := 242; x < 318; x++ {
		switch color.NRGBAModel.Convert(img.At(x, 20)).(color.NRGBA) {
		case color.NRGBA{255, 0, 0, 255}:
			red++
		case color.NRGBA{255, 255, 255, 255}:
			white++
		}
	}
	if red+white < 70 || red < 20 || white < 30 { // lines 2 of every 5 wide
		t.Errorf("hatching: %d red, %d white of 76", red, white)
	}
}

func TestLayRefusesWhatItDoesNotKnow(t *testing.T) {
	for _, svg := range []string{`<p/>`, `<svg><ellipse/></svg>`, `<svg><path d="C1 2"/></svg>`, `<svg><path d="M1"/></svg>`, `<svg><rect`} {
		if _, err := Lay(svg, 100); err == nil {
			t.Errorf("laid out %s", svg)
		}
	}
	if err := (Scene{Width: 1e9, Height: 10}).PNG(&bytes.Buffer{}, 1); err == nil {
		t.Error("painted a picture a kilometre wide")
	}
}
