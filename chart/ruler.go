package chart

import "math"

// Ruler divides the range of a method into the steps that one test tells
// apart. Ends are where the steps end, rising, from Start; beyond Until nothing
// was found or judged.
type Ruler struct {
	ID, Title, Desc string
	Scale           Scale
	Start           float64
	Ends            []float64
	Until           float64 // last concentration judged
	Beyond          string  // words for the rest
}

// StepEnds walks from start to until by the smallest step told apart at each
// place, straight between the places where it was computed. It stops where a
// step is not known or leaves the range, and after most steps.
func StepEnds(at, step []float64, start, until float64, most int) []float64 {
	var ends []float64
	for x := start; len(ends) < most; {
		s := between(at, step, x)
		if !(s > 0) || x+s > until*(1+1e-9) {
			break
		}
		x += s
		ends = append(ends, x)
	}
	return ends
}

// between is the straight line through (at, y), flat outside; not a number
// beside a value that is none.
func between(at, y []float64, x float64) float64 {
	if len(at) == 0 {
		return math.NaN()
	}
	if x <= at[0] {
		return y[0]
	}
	for i := 1; i < len(at); i++ {
		if x <= at[i] {
			t := (x - at[i-1]) / (at[i] - at[i-1])
			return y[i-1] + t*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}

// rulerFrame leaves room for the first and last tick label.
var rulerFrame = frame{2, 96, 0, 1}

// SVG draws the ruler, 26 pixels high.
func (r Ruler) SVG() string {
	const y, h = 8.0, 10.0
	d := &drawing{id: r.ID, height: 26}
	f := rulerFrame
	x := func(c float64) float64 { return f.at(clamp(r.Scale.At(c), 0, 1)) }
	from := x(r.Start)
	for i, e := range r.Ends {
		class := "r-full"
		if i%2 == 1 {
			class = "r-void"
		}
		d.rect(class, from, x(e)-from, y, h)
		from = x(e)
	}
	if len(r.Ends) > 0 {
		d.rect("r-frame", x(r.Start), from-x(r.Start), y, h)
	}
	if end := f.at(1); end-from > .5 {
		d.notJudged(from, end-from, y, h)
		if r.Beyond != "" && end-from > 20 {
			d.text("t halo", (from+end)/2, y+9, "middle", r.Beyond)
		}
	}
	return d.svg("row", r.Title, r.Desc)
}

// RulerAxis is the axis that stands under rulers of one scale.
func RulerAxis(s Scale) string {
	d := &drawing{height: 24}
	f := rulerFrame
	d.line("m-axis", f.x0, f.x1, 1, 1)
	for _, v := range s.Ticks(.08) {
		x := f.at(s.At(v))
		d.line("m-axis", x, x, 1, 7)
		d.text("t", x, 20, "middle", tickText(v))
	}
	return d.svg("row", "", "")
}
