package chart

import "math"

// Verdict is how a bar is filled.
type Verdict int

// Plain is not judged; Within is solid, Undecided hatched, Outside hollow;
// Known is what is judged by known water.
const (
	Plain Verdict = iota
	Within
	Undecided
	Outside
	Known
)

func (v Verdict) class() string {
	return [...]string{"plain", "within", "undecided", "outside", "known"}[v]
}

func (v Verdict) ink() string {
	return [...]string{"#151c23", "#14603c", "#7a5000", "#a3241a", "#0b4f91"}[v]
}

// Bar is an estimate in its interval. Notch is not a number where no value
// inside is better than another. Infinite ends are open.
type Bar struct {
	Low, High, Notch float64
	Verdict          Verdict
}

// frame is the stretch of the width, in per cent, that stands for the values
// from Low to High.
type frame struct{ x0, x1, low, high float64 }

func (f frame) at(v float64) float64 { return f.x0 + (f.x1-f.x0)*(v-f.low)/(f.high-f.low) }
func (f frame) width() float64       { return f.x1 - f.x0 }

// least is how narrow a mark may be drawn, in per cent of the width.
const least = 0.9

// bar draws a bar into a frame, cut with a double slash where it goes on.
func (d *drawing) bar(f frame, b Bar, y, h float64) {
	if math.IsNaN(b.Low) || math.IsNaN(b.High) {
		return
	}
	lo, hi := math.Max(b.Low, f.low), math.Min(b.High, f.high)
	x0, x1 := f.at(clamp(lo, f.low, f.high)), f.at(clamp(hi, f.low, f.high))
	if b.High < f.low { // all of it beyond the left edge
		x0, x1 = f.x0, f.x0+3
	}
	if b.Low > f.high {
		x0, x1 = f.x1-3, f.x1
	}
	if x1-x0 < least {
		m := clamp((x0+x1)/2, f.x0+least/2, f.x1-least/2)
		x0, x1 = m-least/2, m+least/2
	}
	d.barRect(b.Verdict, x0, x1-x0, y, h)
	if finite(b.Notch) && b.Notch > f.low && b.Notch < f.high && x1-x0 > 2*least {
		d.notch(b.Verdict, f.at(b.Notch), y+.6, y+h-.6)
	}
	mid := y + h/2
	d.barEnd(b.Low < f.low, math.IsInf(b.Low, -1), f.x0, mid, "M-2 -4L-6 0L-2 4")
	d.barEnd(b.High > f.high, math.IsInf(b.High, 1), f.x1, mid, "M2 -4L6 0L2 4")
}

// barEnd says how a bar goes on past the frame: open (an arrow just outside) or cut.
func (d *drawing) barEnd(beyond, open bool, x, y float64, arrow string) {
	switch {
	case open:
		d.at("m-open", x, y, arrow)
	case beyond:
		d.slash(x, y)
	}
}

func (d *drawing) barRect(v Verdict, x, w, y, h float64) {
	fill := v.ink()
	switch v {
	case Undecided:
		d.hatched = true
		fill = "url(#" + idToken(d.id) + "-h)"
	case Outside:
		fill = "#fafbf8"
	}
	d.add(`<rect class="m-est %s" fill="%s" stroke="%s" stroke-width="1.25" x="%s" width="%s" y="%s" height="%s"/>`,
		v.class(), fill, v.ink(), pc(x), pc(w), px(y), px(h))
}

func (d *drawing) notch(v Verdict, x, y0, y1 float64) {
	ink, width := "#fafbf8", "2"
	if v == Undecided || v == Outside {
		ink, width = v.ink(), "2.5"
	}
	d.add(`<line class="m-notch %s" stroke="%s" stroke-width="%s" x1="%s" x2="%s" y1="%s" y2="%s"/>`,
		v.class(), ink, width, pc(x), pc(x), px(y0), px(y1))
}
