package chart

import (
	"fmt"
	"math"
	"strings"
)

// Response shows readings against knowns: level means as upright intervals, the
// shape through them, and the line of equality on which a method that reads
// right would lie. Both axes are the same asinh scale.
type Response struct {
	ID, Title, Desc string
	Scale           Scale
	At, Mean        []float64 // the shape
	Levels          []Point
	Across, Up      string // words of the axes
	Equal           string // word on the line of equality
}

// Point is a level with its mean reading; Mid is not a number where no value
// inside is better than another.
type Point struct{ X, Low, High, Mid float64 }

// Plot geometry: per cent across, pixels up.
const plotLeft, plotRight, plotTop, plotHeight = 11.0, 97.0, 20.0, 250.0

func plotY(p float64) float64 { return plotTop + plotHeight*(1-p) }

// SVG draws the response.
func (r Response) SVG() string {
	d := &drawing{id: r.ID, height: plotTop + plotHeight + 40}
	f := frame{plotLeft, plotRight, 0, 1}
	d.text("t", 0, 12, "", r.Up)
	for _, v := range r.Scale.Ticks(.09) {
		p := r.Scale.At(v)
		x, y := f.at(p), plotY(p)
		d.line("m-guide", f.x0, f.x1, y, y)
		d.text("t", f.x0-1.2, y+4, "end", tickText(v))
		d.line("m-axis", x, x, plotY(0), plotY(0)+5)
		d.text("t", x, plotY(0)+18, "middle", tickText(v))
	}
	d.line("m-axis", f.x0, f.x1, plotY(0), plotY(0))
	d.text("t", f.x1, plotY(0)+35, "end", r.Across)
	d.nested(f.x0, f.width(), plotTop, plotHeight)
	d.add(`<path %s d="M0 1000L1000 0"/>`, look("m-equal"))
	place := func(v float64) float64 { return r.Scale.At(v) }
	d.curve("m-curve", r.At, r.Mean, place, place)
	d.endNested()
	for _, p := range r.Levels {
		d.upright(f, r.Scale, p)
	}
	r.nameEqual(d, f)
	return d.svg("fig", r.Title, r.Desc)
}

// nameEqual writes the word on the line of equality beside it, above or below,
// where nothing else lies.
func (r Response) nameEqual(d *drawing, f frame) {
	var taken room
	toAxis := func(v float64) float64 { return r.Scale.At(v) }
	taken.curve(f, plotTop, plotHeight, r.At, r.Mean, toAxis, toAxis)
	taken.lines = append(taken.lines, [4]float64{f.x0, plotY(0), f.x1, plotY(1)})
	taken.boxes = append(taken.boxes, [4]float64{0, 0, 100, plotTop - 8})
	for _, p := range r.Levels {
		if finite(p.X) && !math.IsNaN(p.Low) && !math.IsNaN(p.High) {
			y0, y1 := plotY(clamp(r.Scale.At(p.High), 0, 1)), plotY(clamp(r.Scale.At(p.Low), 0, 1))
			taken.mark(f.at(clamp(r.Scale.At(p.X), 0, 1)), (y0+y1)/2, 2, math.Max((y1-y0)/2, 2)+2)
		}
	}
	var places []place
	for _, at := range []float64{.93, .8, .87, .7, .6, .5, .4, .3, .98} {
		places = append(places, place{f.at(at), plotY(math.Min(at+.055, .985)), true}, place{f.at(at), plotY(at) + 16, false})
	}
	taken.put(d, f, "t t-knowns", r.Equal, places)
}

// upright is the interval of a mean reading.
func (d *drawing) upright(f frame, s Scale, p Point) {
	if !finite(p.X) || math.IsNaN(p.Low) || math.IsNaN(p.High) {
		return
	}
	x := f.at(clamp(s.At(p.X), 0, 1))
	y0, y1 := plotY(clamp(s.At(p.High), 0, 1)), plotY(clamp(s.At(p.Low), 0, 1))
	if y1-y0 < 4 {
		m := (y0 + y1) / 2
		y0, y1 = m-2, m+2
	}
	d.add(`<svg x="%s" y="%s" width="1" height="1" overflow="visible"><rect %s x="-4" width="8" y="0" height="%s"/>`, pc(x), px(y0), look("m-dot"), px(y1-y0))
	if finite(p.Mid) && y1-y0 > 8 {
		y := plotY(clamp(s.At(p.Mid), 0, 1)) - y0
		d.add(`<path class="m-notch" stroke="#fafbf8" stroke-width="2" d="M-4 %sH4"/>`, px(y))
	}
	d.add(`</svg>`)
}

// curve draws y over x inside a nested frame; it breaks where a value is not
// known. to places values between 0 and 1.
func (d *drawing) curve(class string, x, y []float64, toX, toY func(float64) float64) {
	var b strings.Builder
	pen := "M"
	for i := range min(len(x), len(y)) {
		if !finite(x[i], y[i]) {
			pen = "M"
			continue
		}
		fmt.Fprintf(&b, "%s%s %s", pen, px(1000*clamp(toX(x[i]), -.5, 1.5)), px(1000*(1-clamp(toY(y[i]), -.5, 1.5))))
		pen = "L"
	}
	if b.Len() > 0 {
		d.add(`<path %s d="%s"/>`, look(class), b.String())
	}
}

// band fills between two curves, in pieces where a value is not known.
func (d *drawing) band(class string, x, low, high []float64, toX, toY func(float64) float64) {
	point := func(x, y float64) string {
		return px(1000*toX(x)) + " " + px(1000*(1-clamp(toY(y), -.5, 1.5)))
	}
	for i := 0; i < len(x); {
		j := i
		for j < len(x) && finite(x[j], low[j], high[j]) {
			j++
		}
		if j-i > 1 {
			var b strings.Builder
			for k := i; k < j; k++ {
				b.WriteString(map[bool]string{true: "M", false: "L"}[k == i] + point(x[k], high[k]))
			}
			for k := j - 1; k >= i; k-- {
				b.WriteString("L" + point(x[k], low[k]))
			}
			d.add(`<path %s d="%sZ"/>`, look(class), b.String())
		}
		i = max(j, i+1)
	}
}
