package curve

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
)

// turned is a curve as package inverse turns it round: its answers are mean signals
// of the query's sample, their sign turned where signals fall as the level rises.
type turned struct{ query }

// oriented is what was seen in the direction in which signals rise with the level.
func (t turned) oriented(seen interval.Interval) interval.Interval {
	if t.falls() {
		return interval.Interval{Low: -seen.High, High: -seen.Low}
	}
	return seen
}

// signal is an oriented answer as the curve knows it.
func (t turned) signal(y float64) float64 {
	if t.falls() {
		return -y
	}
	return y
}

func (t turned) Range() (bottom, top float64) {
	return t.Curve.Range.LevelLow, t.Curve.Range.LevelHigh
}

// turnKnots are enough for curves, which keep one direction within their range: a set
// has one piece, and the turn starts from where the curve meets what was seen.
const turnKnots = 12

func (t turned) Knots() []float64 {
	a, b := t.Range()
	return spaced(a, b)
}

func spaced(a, b float64) []float64 {
	out := make([]float64, turnKnots+1)
	for i := range out {
		out[i] = a + (b-a)*float64(i)/turnKnots
	}
	out[turnKnots] = b
	return out
}

// Margin is by how much the lesser of the two chances, that the mean signal at x lies
// as low as what was seen and that it lies as high, is above 2.5 % to whoever
// doubts it least.
func (t turned) Margin(x float64, seen interval.Interval) float64 {
	m := 1 - outer
	if !seen.OpenAbove() {
		t.y = t.signal(seen.High)
		_, most := t.high(x)
		m = math.Min(m, most-outer)
	}
	if !seen.OpenBelow() {
		t.y = t.signal(seen.Low)
		least, _ := t.high(x)
		m = math.Min(m, 1-outer-least)
	}
	return m
}

func (t turned) Level(y float64) float64 { return t.LevelOf(t.signal(y)) }

// Chance is how likely it is that a mean signal at x lies in what was seen; a density
// where that is one value.
func (t turned) Chance(x float64, seen interval.Interval) float64 {
	g := make([]float64, t.form.Params)
	p := 0.0
	for _, w := range t.Weightings {
		s := t.spot(w, x, g)
		mean, scale, df := t.signal(s.mean), s.scale(), s.degrees()
		if seen.Low == seen.High {
			p += w.Mass * num.TPDF((seen.Low-mean)/scale, df) / scale
			continue
		}
		p += w.Mass * (num.TCDF((seen.High-mean)/scale, df) - num.TCDF((seen.Low-mean)/scale, df))
	}
	return p
}

// through is the interval of a signal on the curve as far as that can be followed,
// below nothing and beyond what was tried too: it judges curves by knowns, which
// say themselves where they are. NaN where it has no end within reach.
func (t turned) through(seen interval.Interval, x float64) (low, high float64) {
	bottom, top := t.reach()
	knots := append(spaced(bottom, top), x)
	slices.Sort(knots)
	for _, p := range inverse.Where(slices.Compact(knots), func(x float64) float64 { return t.Margin(x, seen) }) {
		if p.Contains(x) {
			low, high = p.Low, p.High
			if low <= bottom {
				low = math.NaN()
			}
			if high >= top {
				high = math.NaN()
			}
			return low, high
		}
	}
	return math.NaN(), math.NaN()
}
