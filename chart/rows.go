package chart

import "math"

// Row is one line of an interval figure: a bar on a straight scale, its words
// beside it in the page. Margin, where above 0, is a permitted stretch around 0.
type Row struct {
	ID, Title string
	Low, High float64 // of the scale
	Bars      []Bar   // one, or the pieces of a split set
	Margin    float64
	Readings  []Mark // what was read, as thin lines above
	Scale     *Scale // concentrations on asinh instead of the straight scale
	Need      *Stretch
	Slim      bool // 18 pixels high instead of 30
}

// Stretch is what a need asks for, between two lines.
type Stretch struct{ Low, High float64 }

var rowFrame = frame{3, 97, 0, 1}

func (r Row) frame() (frame, func(float64) float64) {
	if r.Scale != nil {
		f := frame{rowFrame.x0, rowFrame.x1, 0, 1}
		return f, func(v float64) float64 {
			if math.IsInf(v, 0) {
				return v
			}
			return r.Scale.At(v)
		}
	}
	return frame{rowFrame.x0, rowFrame.x1, r.Low, r.High}, func(v float64) float64 { return v }
}

// SVG draws the row.
func (r Row) SVG() string {
	height := 30.
	if r.Slim {
		height = 18
	}
	d := &drawing{id: r.ID, height: height}
	f, to := r.frame()
	d.line("m-guide", f.x0, f.x1, height/2, height/2)
	if r.Margin > 0 {
		d.need(f.at(math.Max(-r.Margin, f.low)), f.at(math.Min(r.Margin, f.high)), height)
	}
	if n := r.Need; n != nil {
		d.need(f.at(clamp(to(n.Low), f.low, f.high)), f.at(clamp(to(n.High), f.low, f.high)), height)
	}
	if r.Scale == nil && r.Low <= 0 && r.High >= 0 {
		d.line("m-axis", f.at(0), f.at(0), 0, 30)
	}
	for _, b := range r.Bars {
		d.bar(f, Bar{to(b.Low), to(b.High), to(b.Notch), b.Verdict}, height/2-5, 10)
	}
	for _, m := range r.Readings {
		s := layOut(f, []Mark{{Low: to(m.Low), High: to(m.High), Count: 1}}, f.low)
		d.stack(f, s, 4)
	}
	return d.svg("row", r.Title, "")
}

// need is what is asked for, as a stretch between its two lines.
func (d *drawing) need(from, to, height float64) {
	d.rect("m-need", from, to-from, 0, height)
	d.line("m-stile", from, from, 0, height)
	d.line("m-stile", to, to, 0, height)
}

// Axis is the scale that stands under such rows.
func (r Row) Axis(signed bool) string {
	d := &drawing{height: 24}
	f, to := r.frame()
	d.line("m-axis", f.x0, f.x1, 1, 1)
	ticks := []float64(nil)
	if r.Scale != nil {
		ticks = r.Scale.Ticks(.1)
	} else {
		ticks = evenTicks(r.Low, r.High, 4)
	}
	for _, v := range ticks {
		x := f.at(to(v))
		s := tickText(v)
		if signed && v > 0 {
			s = "+" + s
		}
		d.line("m-axis", x, x, 1, 6)
		d.text("t", x, 19, "middle", s)
	}
	return d.svg("row", "", "")
}

// Around is a round scale that holds all finite values, and 0.
func Around(vs ...float64) (low, high float64) {
	for _, v := range vs {
		if finite(v) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	if low == high {
		return -1, 1
	}
	pad := (high - low) * .06
	if low < 0 {
		low -= pad
	}
	if high > 0 {
		high += pad
	}
	return low, high
}
