package chart

import (
	"fmt"
	"math"
	"time"
)

// Times are intervals along time, each an upright bar: results of a water on a scale of
// concentrations, checks on a straight one. Times are days of any origin.
type Times struct {
	ID, Title, Desc string
	Height          float64 // of the frame, in pixels
	First, Last     float64 // days
	Scale           *Scale  // concentrations on asinh
	Low, High       float64 // of a straight scale
	Need            *Stretch
	Known           float64 // a line of known water; NaN: none
	Bars            []TimeBar
	Level           Band // what holds between the bars, behind them; NaN breaks it
	Events          []Event
	Onset           *Stretch   // days: hatched along the bottom
	Was             []TimeMark // values as they were first said, beside their bars
	Tears           []float64  // days at which the axis is torn: nothing links what lies on both sides
	Off             []Stretch  // days that are not judged on this scale
	Days            []Day
}

// TimeBar is an interval at a time.
type TimeBar struct {
	At float64
	Bar
}

// Event is something that happened at a time: a change of method (solid) or lot (dashed), an
// alarm.
type Event struct {
	At     float64
	Words  string
	Dashed bool
}

// TimeMark is a value at a time.
type TimeMark struct{ At, Value float64 }

// Day is a mark of the axis of time.
type Day struct {
	At    float64
	Words string
}

const (
	timesLeft, timesRight = 8.0, 99.0
	timesTop, timesBottom = 22.0, 26.0
)

// SVG draws the figure: a frame of Height, room for words above and days below.
func (t Times) SVG() string {
	d := &drawing{id: t.ID, height: timesTop + t.Height + timesBottom}
	x := func(day float64) float64 {
		span := t.Last - t.First
		if !(span > 0) {
			return (timesLeft + timesRight) / 2
		}
		return timesLeft + 1.5 + (timesRight-timesLeft-3)*(day-t.First)/span
	}
	share, ticks := t.scale()
	y := func(v float64) float64 { return timesTop + t.Height*(1-clamp(share(v), 0, 1)) }
	floor := timesTop + t.Height
	if n := t.Need; n != nil {
		d.rect("m-need", timesLeft, timesRight-timesLeft, y(n.High), y(n.Low)-y(n.High))
		d.line("m-stile", timesLeft, timesRight, y(n.High), y(n.High))
		d.line("m-stile", timesLeft, timesRight, y(n.Low), y(n.Low))
	}
	for _, o := range t.Off {
		d.notJudged(x(o.Low), x(o.High)-x(o.Low), timesTop, t.Height)
	}
	last := math.Inf(1)
	for _, v := range ticks {
		if at := y(v); last-at >= 16 {
			d.line("m-guide", timesLeft, timesRight, at, at)
			d.text("t", timesLeft-0.8, at+4, "end", tickText(v))
			last = at
		}
	}
	if finite(t.Known) {
		d.line("m-axis", timesLeft, timesRight, y(t.Known), y(t.Known))
	}
	d.line("m-axis", timesLeft, timesRight, floor, floor)
	for _, day := range t.Days {
		d.line("m-axis", x(day.At), x(day.At), floor, floor+5)
		d.text("t", x(day.At), floor+19, "middle", day.Words)
	}
	if o := t.Onset; o != nil {
		from, to := x(o.Low), x(o.High)
		d.barRect(Undecided, from, math.Max(to-from, least), floor-9, 7)
	}
	for _, e := range t.Events {
		class := "m-axis"
		if e.Dashed {
			class = "m-guide"
		}
		d.line(class, x(e.At), x(e.At), timesTop-4, floor)
		anchor := "middle"
		if x(e.At) > 80 {
			anchor = "end"
		} else if x(e.At) < 20 {
			anchor = "start"
		}
		d.text("t", x(e.At), 12, anchor, e.Words)
	}
	if span := t.Last - t.First; span > 0 && len(t.Level.At) > 0 {
		d.nested(timesLeft+1.5, timesRight-timesLeft-3, timesTop, t.Height)
		d.band("m-band", t.Level.At, t.Level.Low, t.Level.High, func(day float64) float64 { return (day - t.First) / span }, share)
		d.endNested()
	}
	width := clamp(60/float64(len(t.Bars)+1), 0.5, 1.6)
	if len(t.Level.At) > 0 {
		width *= 0.6 // so that the band is seen between them
	}
	for _, b := range t.Bars {
		d.timeBar(b, x(b.At), width, y, floor)
	}
	for _, m := range t.Was {
		d.line("m-gone", x(m.At)+width/2+.2, x(m.At)+width/2+1.1, y(m.Value), y(m.Value))
	}
	for _, at := range t.Tears {
		d.tear(x(at), timesTop-4, floor+5)
	}
	return d.svg("times", t.Title, t.Desc)
}

// scale is where values lie, and which stand at the side.
func (t Times) scale() (share func(float64) float64, ticks []float64) {
	if t.Scale != nil {
		return func(v float64) float64 {
			switch {
			case math.IsInf(v, 1):
				return 1
			case math.IsInf(v, -1):
				return 0
			}
			return t.Scale.At(v)
		}, append([]float64{0}, t.Scale.Ticks(.1)...)
	}
	return func(v float64) float64 { return (v - t.Low) / (t.High - t.Low) }, evenTicks(t.Low, t.High, 4)
}

func (d *drawing) timeBar(b TimeBar, x, width float64, y func(float64) float64, floor float64) {
	if math.IsNaN(b.Low) || math.IsNaN(b.High) {
		return
	}
	top, bottom := y(b.High), y(b.Low)
	if bottom-top < 3 {
		mid := (top + bottom) / 2
		top, bottom = mid-1.5, mid+1.5
	}
	d.barRect(b.Verdict, x-width/2, width, top, bottom-top)
	if finite(b.Notch) && bottom-top > 9 {
		at := y(b.Notch)
		ink := "#fafbf8"
		if b.Verdict == Undecided || b.Verdict == Outside {
			ink = b.Verdict.ink()
		}
		d.add(`<line class="m-notch %s" stroke="%s" stroke-width="2" x1="%s" x2="%s" y1="%s" y2="%s"/>`, b.Verdict.class(), ink, pc(x-width/2+.1), pc(x+width/2-.1), px(at), px(at))
	}
	if math.IsInf(b.High, 1) {
		d.at("m-open", x, top-2, "M-4 0L0 -4L4 0")
	}
}

// tear is a gap across the figure with two torn edges: no line runs over it.
func (d *drawing) tear(x, top, bottom float64) {
	const gap, tooth = 0.9, 9.0
	d.rect("r-void", x-gap, 2*gap, top, bottom-top)
	for _, edge := range []float64{x - gap, x + gap} {
		path := "M0 0"
		for k := 1; float64(k)*tooth <= bottom-top; k++ {
			path += fmt.Sprintf("L%d %s", 3*(k%2), px(float64(k)*tooth))
		}
		d.at("m-range", edge, top, path)
	}
}

// DaysBetween are marks of an axis of time: days, months or years, at most seven, in the zone
// of first.
func DaysBetween(first, last time.Time) (out []Day) {
	span := last.Sub(first).Hours() / 24
	day := func(t time.Time) float64 { return float64(t.Unix()) / 86400 }
	if span < 45 {
		step := int(math.Max(1, math.Ceil(span/5)))
		for t := first; !t.After(last); t = t.AddDate(0, 0, step) {
			out = append(out, Day{At: day(t), Words: t.Format("2 Jan")})
		}
		return out
	}
	months := int(math.Ceil(span / 30 / 6))
	layout := "Jan"
	if span > 400 {
		layout = "Jan 06"
	}
	for t := time.Date(first.Year(), first.Month()+1, 1, 0, 0, 0, 0, first.Location()); !t.After(last); t = t.AddDate(0, months, 0) {
		out = append(out, Day{At: day(t), Words: t.Format(layout)})
	}
	return out
}
