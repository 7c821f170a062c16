package chart

import "math"

// Along is the error within which single results lie, over the range of a
// need, against what is permitted there. What lies below the green edge is
// permitted.
type Along struct {
	ID, Title, Desc                   string
	Low, High                         float64 // the need's range; where nothing was computed it is not judged
	At, Permitted                     []float64
	Raw, RawLow, RawHigh              []float64
	Corrected, CorrectedLow, CorrHigh []float64
	// Stepped says that the method reads in wide steps: its error jumps where a step
	// ends, so that a slope between two places would be invented. Each value then
	// stands for the stretch around its place.
	Stepped    bool
	Across, Up string
}

const alongHeight = 200.0

// Drawn says whether there is anything to draw: one place alone is no stretch of
// a need, and no error is no figure.
func (a Along) Drawn() bool {
	n := 0
	for i := range a.At {
		if finite(a.Raw[i]) || finite(a.Corrected[i]) {
			n++
		}
	}
	return n > 1 && a.At[len(a.At)-1] > a.At[0]
}

// SVG draws the errors.
func (a Along) SVG() string {
	d := &drawing{id: a.ID, height: plotTop + alongHeight + 40}
	if !a.Drawn() {
		return d.svg("fig", a.Title, a.Desc)
	}
	first, last := a.At[0], a.At[len(a.At)-1]
	lo, hi := math.Min(a.Low, first), math.Max(a.High, last)
	top := a.top()
	f := frame{plotLeft, plotRight, lo, hi}
	toX := func(v float64) float64 { return (v - lo) / (hi - lo) }
	toY := func(v float64) float64 { return v / top }
	within := func(v float64) float64 { return clamp(v/top, 0, 1) }
	y := func(v float64) float64 { return plotTop + alongHeight*(1-toY(v)) }
	if first > lo {
		d.notJudged(f.x0, f.at(first)-f.x0, plotTop, alongHeight)
	}
	if last < hi {
		d.notJudged(f.at(last), f.x1-f.at(last), plotTop, alongHeight)
	}
	d.nested(f.x0, f.width(), plotTop, alongHeight)
	d.band("m-need", a.At, make([]float64, len(a.At)), a.Permitted, toX, within)
	d.endNested()
	d.text("t", 0, 12, "", a.Up)
	for _, v := range evenTicks(0, top, 4) {
		d.line("m-guide", f.x0, f.x1, y(v), y(v))
		d.text("t", f.x0-1.2, y(v)+4, "end", tickText(v))
	}
	for _, v := range evenTicks(lo, hi, 5) {
		d.line("m-axis", f.at(v), f.at(v), y(0), y(0)+5)
		d.text("t", f.at(v), y(0)+18, "middle", tickText(v))
	}
	d.line("m-axis", f.x0, f.x1, y(0), y(0))
	d.text("t", f.x1, y(0)+35, "end", a.Across)
	d.nested(f.x0, f.width(), plotTop, alongHeight)
	x, low, high := a.laid(a.RawLow, a.RawHigh)
	d.band("m-band", x, low, high, toX, within)
	x, low, high = a.laid(a.CorrectedLow, a.CorrHigh)
	d.band("m-band2", x, low, high, toX, within)
	d.curve("m-stilec", a.At, a.Permitted, toX, toY)
	x, raw, corrected := a.laid(a.Raw, a.Corrected)
	d.curve("m-curve", x, raw, toX, toY)
	d.curve("m-second", x, corrected, toX, toY)
	d.endNested()
	a.cuts(d, f, top)
	return d.svg("fig", a.Title, a.Desc)
}

// laid are two quantities as they are drawn: as they stand, or in steps, each of
// them from halfway to its neighbour below to halfway to the one above.
func (a Along) laid(one, other []float64) (x, u, v []float64) {
	if !a.Stepped {
		return a.At, one, other
	}
	for i, at := range a.At {
		from, to := at, at
		if i > 0 {
			from = (a.At[i-1] + at) / 2
		}
		if i+1 < len(a.At) {
			to = (at + a.At[i+1]) / 2
		}
		x, u, v = append(x, from, to), append(u, one[i], one[i]), append(v, other[i], other[i])
	}
	return x, u, v
}

// cuts marks where a band goes on above the frame: a double slash at the upper
// edge, one for every stretch of it.
func (a Along) cuts(d *drawing, f frame, top float64) {
	for _, high := range [][]float64{a.RawHigh, a.CorrHigh} {
		for i := 0; i < len(high); i++ {
			j := i
			for j < len(high) && high[j] > top {
				j++
			}
			if j > i {
				d.slash(f.at((a.At[i]+a.At[j-1])/2), plotTop)
				i = j
			}
		}
	}
}

// top is the height of the figure: all estimates and what is permitted lie inside;
// of their intervals, up to twice as much.
func (a Along) top() float64 {
	_, most := extent(append(append([]float64(nil), a.Raw...), a.Corrected...))
	_, permitted := extent(a.Permitted)
	_, wide := extent(append(append([]float64(nil), a.RawHigh...), a.CorrHigh...))
	least := most
	if finite(permitted) {
		least = math.Max(most, permitted)
	}
	if finite(wide) {
		return 1.08 * clamp(wide, least, 2*least)
	}
	return 1.08 * math.Max(least, 1e-9)
}
