package chart

import "math"

// Curve shows a fitted curve above, and below over the same concentrations what
// every known gave when it was read back, less what it holds.
type Curve struct {
	ID, Title, Desc string
	At, Signal      []float64 // the curve, over all that is drawn
	From, To        float64   // range of the curve; what lies beside it is shaded
	Signals         []Seen    // one a vial
	Tags            []Tag     // words beside marks
	Back            []Back
	Test, Own       Band      // 95 % of one test; the curve's own share of it
	Permitted       []float64 // along At; nil where nothing is
	Across, Up      string
	Error           string // over the lower part
}

// Use says what a known was for.
type Use int

// A known is fitted, held out to judge the curve, or left out of both.
const (
	Fitted Use = iota
	Held
	Gone
)

// Seen is one signal.
type Seen struct {
	Level, Signal float64
	Use           Use
	Href          string // where it is, and can be left out; empty: nowhere
}

// Tag are words beside the marks of one known.
type Tag struct {
	Level, Signal float64
	Text          string
	Use           Use
}

// Band reaches downwards and upwards along levels of its own, so that it ends
// where the range ends.
type Band struct{ At, Low, High []float64 }

// Back is a known read back, less what it holds.
type Back struct {
	Level, Low, High, Mid float64
	Use                   Use
}

// Heights of the two parts, in pixels.
const curveTop, curveHeight, curveGap, backHeight = 20.0, 210.0, 52.0, 130.0

// SVG draws the curve.
func (c Curve) SVG() string {
	d := &drawing{id: c.ID, height: curveTop + curveHeight + curveGap + backHeight + 40}
	if len(c.At) < 2 || !finite(c.At[0], c.At[len(c.At)-1]) || !(c.At[len(c.At)-1] > c.At[0]) {
		return d.svg("fig", c.Title, c.Desc)
	}
	lo, hi := c.At[0], c.At[len(c.At)-1]
	f := frame{plotLeft, plotRight, lo, hi}
	toX := func(v float64) float64 { return (v - lo) / (hi - lo) }
	c.upper(d, f, toX)
	c.lower(d, f, toX)
	return d.svg("fig", c.Title, c.Desc)
}

// beside shades what lies outside the range.
func (c Curve) beside(d *drawing, f frame, y, h float64) {
	if finite(c.From) && c.From > f.low {
		d.notJudged(f.x0, f.at(math.Min(c.From, f.high))-f.x0, y, h)
	}
	if finite(c.To) && c.To < f.high {
		x := f.at(math.Max(c.To, f.low))
		d.notJudged(x, f.x1-x, y, h)
	}
}

func (c Curve) upper(d *drawing, f frame, toX func(float64) float64) {
	inside := func(x float64) bool { return !(x < c.From) && !(x > c.To) }
	low, high := extent(c.masked(inside)) // what goes on beyond the range is cut by the frame
	for _, s := range c.Signals {
		if finite(s.Signal) {
			low, high = math.Min(low, s.Signal), math.Max(high, s.Signal)
		}
	}
	if !finite(low, high) || !(high > low) {
		low, high = low-1, low+1
	}
	low, high = low-.04*(high-low), high+.04*(high-low)
	toY := func(v float64) float64 { return (v - low) / (high - low) }
	y := func(v float64) float64 { return curveTop + curveHeight*(1-clamp(toY(v), 0, 1)) }
	c.beside(d, f, curveTop, curveHeight)
	d.text("t", 0, 12, "", c.Up)
	for _, v := range evenTicks(low, high, 5) {
		d.line("m-guide", f.x0, f.x1, y(v), y(v))
		d.text("t", f.x0-1.2, y(v)+4, "end", tickText(v))
	}
	bottom := curveTop + curveHeight
	c.ticks(d, f, bottom)
	d.nested(f.x0, f.width(), curveTop, curveHeight)
	d.curve("m-curve", c.At, c.masked(inside), toX, toY)
	if c.From > f.low {
		d.curve("m-curve out", c.At, c.masked(func(x float64) bool { return x <= c.From }), toX, toY)
	}
	if c.To < f.high {
		d.curve("m-curve out", c.At, c.masked(func(x float64) bool { return x >= c.To }), toX, toY)
	}
	d.endNested()
	for _, s := range c.Signals {
		if !finite(s.Level, s.Signal) || s.Level < f.low || s.Level > f.high {
			continue
		}
		d.link(s.Href, "this point, at "+tickText(s.Level), func() {
			switch x := f.at(s.Level); s.Use {
			case Held:
				d.at("m-held", x, y(s.Signal), "M-6 -3H6V3H-6Z")
			case Gone:
				d.at("m-gone", x, y(s.Signal), "M-4 -4L4 4M-4 4L4 -4")
			default:
				d.at("m-read", x, y(s.Signal), "M-5 0H5")
			}
		})
	}
	c.bracket(d, f, bottom)
	c.tags(d, f, toX, toY)
}

// masked is the curve where in says so, and no number elsewhere.
func (c Curve) masked(in func(float64) bool) []float64 {
	out := make([]float64, len(c.Signal))
	for i, v := range c.Signal {
		if out[i] = v; i < len(c.At) && !in(c.At[i]) {
			out[i] = math.NaN()
		}
	}
	return out
}

// bracket marks the range on its axis.
func (c Curve) bracket(d *drawing, f frame, y float64) {
	if !finite(c.From, c.To) || !(c.To > c.From) {
		return
	}
	a, b := f.at(clamp(c.From, f.low, f.high)), f.at(clamp(c.To, f.low, f.high))
	d.line("m-range", a, b, y, y)
	d.line("m-range", a, a, y-7, y+1)
	d.line("m-range", b, b, y-7, y+1)
}

// tags writes words beside the marks of their knowns, where neither the curve nor a
// mark nor other words lie; what finds no place is left to the table.
func (c Curve) tags(d *drawing, f frame, toX, toY func(float64) float64) {
	var taken room
	taken.curve(f, curveTop, curveHeight, c.At, c.Signal, toX, toY)
	y := func(v float64) float64 { return curveTop + curveHeight*(1-clamp(toY(v), 0, 1)) }
	for _, s := range c.Signals {
		if finite(s.Level, s.Signal) {
			taken.mark(f.at(s.Level), y(s.Signal), 2, 4)
		}
	}
	bottom := curveTop + curveHeight
	for _, end := range []float64{c.From, c.To} { // of the range on its axis
		if finite(end) {
			taken.mark(f.at(clamp(end, f.low, f.high)), bottom-3, .6, 4)
		}
	}
	drops := []float64{18, -9, 30, -21} // below a rising curve, above a falling one
	if n := len(c.Signal); n > 0 && c.Signal[n-1] < c.Signal[0] {
		drops = []float64{-9, 18, -21, 30}
	}
	for _, t := range c.Tags {
		if !finite(t.Level, t.Signal) || t.Level < f.low || t.Level > f.high {
			continue
		}
		x, at := f.at(t.Level), y(t.Signal)
		places := []place{}
		for _, off := range []float64{1.5, 5} {
			for _, drop := range drops {
				base := clamp(at+drop, curveTop+12, bottom-4)
				places = append(places, place{x + off, base, false}, place{x - off, base, true})
			}
		}
		class := "t halo"
		if t.Use == Held {
			class = "t t-knowns"
		}
		taken.put(d, frame{f.x0, f.x1, 0, 1}, class, t.Text, places)
	}
}

func (c Curve) ticks(d *drawing, f frame, y float64) {
	d.line("m-axis", f.x0, f.x1, y, y)
	for _, v := range evenTicks(f.low, f.high, 6) {
		d.line("m-axis", f.at(v), f.at(v), y, y+5)
		d.text("t", f.at(v), y+18, "middle", tickText(v))
	}
}

func (c Curve) lower(d *drawing, f frame, toX func(float64) float64) {
	top := curveTop + curveHeight + curveGap
	half := c.half()
	toY := func(v float64) float64 { return (v + half) / (2 * half) }
	y := func(v float64) float64 { return top + backHeight*(1-clamp(toY(v), 0, 1)) }
	if len(c.Permitted) == len(c.At) {
		less := make([]float64, len(c.Permitted))
		for i, v := range c.Permitted {
			less[i] = -v
		}
		within := func(v float64) float64 { return clamp(toY(v), 0, 1) }
		d.nested(f.x0, f.width(), top, backHeight)
		d.band("m-need", c.At, less, c.Permitted, toX, within)
		for i, v := range c.Permitted {
			if v > half { // its edge is above the frame
				less[i] = math.NaN()
			}
		}
		d.curve("m-stilec", c.At, less, toX, toY)
		d.curve("m-stilec", c.At, less, toX, func(v float64) float64 { return toY(-v) })
		d.endNested()
	}
	c.beside(d, f, top, backHeight)
	d.text("t", 0, top-10, "", c.Error)
	for _, v := range evenTicks(-half, half, 4) {
		d.line("m-guide", f.x0, f.x1, y(v), y(v))
		d.text("t", f.x0-1.2, y(v)+4, "end", signedTick(v))
	}
	inside := func(v float64) float64 { return clamp(toY(v), 0, 1) }
	d.nested(f.x0, f.width(), top, backHeight)
	d.band("m-band", c.Test.At, c.Test.Low, c.Test.High, toX, inside)
	d.band("m-band", c.Own.At, c.Own.Low, c.Own.High, toX, inside)
	d.endNested()
	d.line("m-axis", f.x0, f.x1, y(0), y(0))
	c.ticks(d, f, top+backHeight)
	d.text("t", f.x1, top+backHeight+35, "end", c.Across)
	for _, b := range c.Back {
		if !finite(b.Level, b.Low, b.High) || b.Level < f.low || b.Level > f.high || b.Low > half || b.High < -half {
			continue
		}
		c.upright(d, f.at(b.Level), y(b.High), y(b.Low), y(b.Mid), b)
	}
}

// upright is one known read back: its interval with its notch. A held-out one is
// blue, one left out grey.
func (c Curve) upright(d *drawing, x, y0, y1, mid float64, b Back) {
	if y1-y0 < 3 {
		y0, y1 = (y0+y1)/2-1.5, (y0+y1)/2+1.5
	}
	class := map[Use]string{Fitted: "m-est plain", Held: "m-est known", Gone: "m-est gone"}[b.Use]
	d.at(class, x, y0, "M-3.5 0H3.5V"+px(y1-y0)+"H-3.5Z")
	if finite(b.Mid) && y1-y0 >= 6 {
		d.at("m-notch", x, mid, "M-3 0H3")
	}
}

// half is the half height of the lower part: what the knowns need, but no more
// than three times what is permitted at the top.
func (c Curve) half() float64 {
	most := 0.0
	for _, b := range c.Back {
		if b.Use != Gone && finite(b.Low, b.High) {
			most = math.Max(most, math.Max(math.Abs(b.Low), math.Abs(b.High)))
		}
	}
	low, high := extent(append(append([]float64(nil), c.Test.Low...), c.Test.High...))
	if finite(low, high) {
		most = math.Max(most, math.Max(-low, high))
	}
	_, permitted := extent(c.Permitted)
	if finite(permitted) && permitted > 0 {
		most = clamp(most, permitted*.5, 3*permitted)
	}
	if !(most > 0) {
		return 1
	}
	return 1.15 * most
}

func extent(vs []float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range vs {
		if finite(v) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	return low, high
}

func signedTick(v float64) string {
	if v > 0 {
		return "+" + tickText(v)
	}
	return tickText(v)
}
