// Package matrix says what a water does to a curve: whether another water changes its slope,
// its blank or both, and what a water holds by standard additions.
package matrix

import (
	"math"

	"knownwater"
	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Effect compares signals of one water with those of another, both with known levels.
type Effect struct {
	Slope, SlopeLow, SlopeHigh    float64     // slope in the second water ÷ slope in the first
	Offset, OffsetLow, OffsetHigh float64     // constant shift, as a concentration through the first water's curve
	Margin                        float64     // relative, within which the slopes count as the same
	Verdict                       string      // the words of the slope: same, different, undecided
	Curve                         curve.Curve // of the first water
	Notes                         []note.Note
}

// The verdicts on slopes.
const (
	SameSlope      = "same"
	DifferentSlope = "different"
)

// Compare tells a proportional effect (the slope) from a constant one (an
// offset): one fit of both waters,
//
//	first: signal = f(level),  second: signal = f(slope·level + offset),
//
// f of the shape that fits the first, so that a bent curve does not look like another
// slope, weighted by each way in which its signals may scatter. Each of these gives
// t distributions with N less all coefficients as degrees of freedom; the intervals
// hold the middle 95 % of their mixture by what the first water makes likely, to whoever
// expects the same scatter everywhere and to whoever expects it to grow (curve.Weighting). Standard
// additions cure only the slope (AMC Technical Brief 37, 2009).
func Compare(first, second []curve.Point, o curve.Options, margin float64) (Effect, error) {
	c, err := curve.Fit(first, o)
	if err != nil {
		return Effect{}, err
	}
	if faults := curve.Faults(second, o); faults != nil {
		return Effect{}, faults
	}
	m := Effect{Curve: c, Margin: margin}
	for k, alike := range c.Alike(first, o) {
		e := Effect{Curve: alike}
		ways := e.ways(first, second)
		if ways == nil {
			if k == 0 {
				return Effect{}, fault("too few points, or too far apart, to compare two slopes", "points at three levels or more in each water, within one range")
			}
			continue
		}
		e.measure(ways)
		m.cover(e, k == 0)
	}
	m.judge()
	return m, nil
}

// ways are the fits of both waters by the curve's shape, under each way in which signals may scatter.
func (m *Effect) ways(first, second []curve.Point) (ways []scattered) {
	y, x, apparent, in := m.gather(first, second)
	slope, offset := apart(x, apparent, in)
	for _, w := range m.Curve.Weightings {
		weights := make([]float64, len(x))
		for i := range x {
			weights[i] = 1 / w.Relative(apparent[i])
		}
		if fit, err := m.together(y, x, weights, in, slope, offset); err == nil && fit.DF >= 1 {
			ways = append(ways, scattered{w, fit})
		}
	}
	return ways
}

// cover takes slope and offset of the first curve, and widens their limits to those of any other.
func (m *Effect) cover(e Effect, first bool) {
	if first {
		e.Margin, e.Curve = m.Margin, m.Curve
		*m = e
		return
	}
	m.SlopeLow, m.SlopeHigh = math.Min(m.SlopeLow, e.SlopeLow), math.Max(m.SlopeHigh, e.SlopeHigh)
	m.OffsetLow, m.OffsetHigh = math.Min(m.OffsetLow, e.OffsetLow), math.Max(m.OffsetHigh, e.OffsetHigh)
}

// scattered is the fit of both waters under one way in which signals may scatter.
type scattered struct {
	curve.Weighting
	num.NonlinearFit
}

// gather lines both waters up; in says which points are of the second, apparent what the first's curve
// takes them for. Points of the second that lie where the first has no curve are left out.
func (m *Effect) gather(first, second []curve.Point) (y, x, apparent []float64, in []bool) {
	c := m.Curve
	left := 0
	for k, points := range [][]curve.Point{first, second} {
		for _, p := range points {
			if p.Check {
				continue
			}
			at := p.Cell()
			if k == 1 {
				if at = c.LevelOf(p.Signal); math.IsNaN(at) || at > 1.05*c.Top {
					left++
					continue
				}
			}
			y, x = append(y, p.Signal), append(x, p.Cell())
			apparent, in = append(apparent, math.Max(at, 0)), append(in, k == 1)
		}
	}
	if left > 0 {
		m.Notes = append(m.Notes, note.New("points-beyond-first-water").Number("points", float64(left)))
	}
	return y, x, apparent, in
}

// together fits curve, slope and offset at once, from a slope and an offset.
func (m Effect) together(y, x, w []float64, in []bool, slope, offset float64) (num.NonlinearFit, error) {
	f := m.Curve.Form()
	n := f.Params
	g := make([]float64, n)
	cell := func(par []float64, i int) float64 {
		if in[i] {
			return par[n]*x[i] + par[n+1]
		}
		return x[i]
	}
	problem := num.Nonlinear{
		Y: y, W: w,
		Model: func(par, fitted []float64) {
			for i := range x {
				fitted[i] = f.At(par[:n], cell(par, i))
			}
		},
		Jacobian: func(par []float64, jac [][]float64) {
			for i := range x {
				at := cell(par, i)
				f.Gradient(par[:n], at, g)
				for j := range g {
					jac[j][i] = g[j]
				}
				jac[n][i], jac[n+1][i] = 0, 0
				if in[i] {
					s := f.Slope(par[:n], at)
					jac[n][i], jac[n+1][i] = s*x[i], s
				}
			}
		},
	}
	return problem.Fit(append(append([]float64(nil), m.Curve.Coef...), slope, offset))
}

// apart are slope and offset of a line through what the second's signals are taken for; 1 and 0 without one.
func apart(x, apparent []float64, in []bool) (slope, offset float64) {
	var level, seen []float64
	for i := range x {
		if in[i] {
			level, seen = append(level, x[i]), append(seen, apparent[i])
		}
	}
	if line, err := num.Polynomial(level, seen, nil, 1); err == nil {
		return line.Coef[1], line.Coef[0]
	}
	return 1, 0
}

func (m *Effect) measure(ways []scattered) {
	n := len(ways[0].NonlinearFit.Coef) - 2
	m.Slope, m.SlopeLow, m.SlopeHigh = covered(ways, n)
	m.Offset, m.OffsetLow, m.OffsetHigh = covered(ways, n+1)
}

func (m *Effect) judge() {
	switch {
	case m.SlopeLow >= 1-m.Margin && m.SlopeHigh <= 1+m.Margin:
		m.Verdict = SameSlope
	case m.SlopeLow > 1 || m.SlopeHigh < 1:
		m.Verdict = DifferentSlope
	default:
		m.Verdict = curve.Undecided
	}
}

// covered is a coefficient's mean over the ways, and limits that leave out no more than 2.5 % on either side of the
// mixture of t distributions, whichever of the two beliefs in the ways is held.
func covered(ways []scattered, k int) (mean, low, high float64) {
	from, to, widest, total := math.Inf(1), math.Inf(-1), 0.0, 0.0
	for _, w := range ways {
		at := w.NonlinearFit.Coef[k]
		mean, total = mean+w.Mass*at, total+w.Mass
		from, to, widest = math.Min(from, at), math.Max(to, at), math.Max(widest, w.SE(k)*num.TQuantile(0.999, float64(w.NonlinearFit.DF)))
	}
	low, high = math.Inf(1), math.Inf(-1)
	for _, belief := range []func(scattered) float64{func(w scattered) float64 { return w.Steady }, func(w scattered) float64 { return w.Growing }} {
		at := func(p float64) float64 {
			x, err := num.Root(func(x float64) float64 {
				below, all := 0.0, 0.0
				for _, w := range ways {
					below += belief(w) * num.TCDF((x-w.NonlinearFit.Coef[k])/w.SE(k), float64(w.NonlinearFit.DF))
					all += belief(w)
				}
				return below - p*all
			}, from-widest, to+widest, 1e-9*(to-from+widest))
			if err != nil {
				return math.NaN()
			}
			return x
		}
		low, high = math.Min(low, at(0.025)), math.Max(high, at(0.975))
	}
	return mean / total, low, high
}

func fault(found, want string) knownwater.Faults {
	return knownwater.Faults{{Found: found, Want: want}}
}
