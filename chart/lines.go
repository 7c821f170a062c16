package chart

import "math"

// Lines shows signals against levels, a line through each set of them.
type Lines struct {
	ID, Title, Desc string
	Low, High       float64  // of the levels
	Sets            []Series // one or two; the second is open and dashed
	Across, Up      string
	Rest            float64 // the signal of nothing; only with Held
	Held            *Bar    // an interval of levels, where a line drawn on meets Rest
}

// Series is signals with the line that was fitted to them.
type Series struct {
	At, Y []float64
	Seen  []Seen
}

const linesHeight = 260.0

// SVG draws the sets.
func (l Lines) SVG() string {
	d := &drawing{id: l.ID, height: plotTop + linesHeight + 40}
	if !finite(l.Low, l.High) || !(l.High > l.Low) {
		return d.svg("fig", l.Title, l.Desc)
	}
	f := frame{plotLeft, plotRight, l.Low, l.High}
	low, high := l.extent()
	toX := func(v float64) float64 { return (v - l.Low) / (l.High - l.Low) }
	toY := func(v float64) float64 { return (v - low) / (high - low) }
	y := func(v float64) float64 { return plotTop + linesHeight*(1-clamp(toY(v), 0, 1)) }
	d.text("t", 0, 12, "", l.Up)
	for _, v := range evenTicks(low, high, 5) {
		d.line("m-guide", f.x0, f.x1, y(v), y(v))
		d.text("t", f.x0-1.2, y(v)+4, "end", tickText(v))
	}
	bottom := plotTop + linesHeight
	d.line("m-axis", f.x0, f.x1, bottom, bottom)
	for _, v := range evenTicks(l.Low, l.High, 6) {
		d.line("m-axis", f.at(v), f.at(v), bottom, bottom+5)
		d.text("t", f.at(v), bottom+18, "middle", tickText(v))
	}
	d.text("t", f.x1, bottom+35, "end", l.Across)
	if l.Low < 0 && l.High > 0 {
		d.line("m-axis", f.at(0), f.at(0), plotTop, bottom)
	}
	for i, s := range l.Sets {
		line, mark, path := "m-curve", "m-read", "M-5 0H5"
		if i > 0 {
			line, mark, path = "m-second", "m-held", "M0 -4L4 0L0 4L-4 0Z"
		}
		d.nested(f.x0, f.width(), plotTop, linesHeight)
		d.curve(line, s.At, s.Y, toX, toY)
		d.endNested()
		for _, p := range s.Seen {
			if finite(p.Level, p.Signal) && p.Level >= l.Low && p.Level <= l.High {
				d.at(mark, f.at(p.Level), y(p.Signal), path)
			}
		}
	}
	if l.Held != nil {
		d.line("m-axis", f.x0, f.x1, y(l.Rest), y(l.Rest))
		d.bar(f, *l.Held, y(l.Rest)-5, 10)
	}
	return d.svg("fig", l.Title, l.Desc)
}

// extent is the height of the figure: all signals, the lines and the signal of nothing.
func (l Lines) extent() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(v float64) {
		if finite(v) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	for _, s := range l.Sets {
		for _, p := range s.Seen {
			take(p.Signal)
		}
		for _, v := range s.Y {
			take(v)
		}
	}
	if l.Held != nil {
		take(l.Rest)
	}
	if !(high > low) {
		return -1, 1
	}
	return low - .04*(high-low), high + .04*(high-low)
}
