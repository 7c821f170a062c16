// Package matrix says what a water does to a curve: whether another water changes its slope,
// its blank or both, and what a water holds by standard additions.
package matrix

import (
	"math"

	"knownwater"
	"knownwater/science/curve"
	"knownwater/science/interval"
	"knownwater/science/known"
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
// f of the shape that fits the first, weighted by its spread, so that a bent
// curve does not look like another slope. Intervals are t intervals with N less
// all coefficients as degrees of freedom. Standard additions cure only the
// slope (AMC Technical Brief 37, 2009).
func Compare(first, second []curve.Point, o curve.Options, margin float64) (Effect, error) {
	c, err := curve.Fit(first, o)
	if err != nil {
		return Effect{}, err
	}
	if faults := curve.Faults(second, o); faults != nil {
		return Effect{}, faults
	}
	m := Effect{Curve: c, Margin: margin}
	y, x, w, in := m.gather(first, second)
	fit, err := m.together(y, x, w, in)
	if err != nil || fit.DF < 1 {
		return Effect{}, fault("too few points, or too far apart, to compare two slopes", "points at three levels or more in each water, within one range")
	}
	m.compare(fit)
	return m, nil
}

// gather lines both waters up; in says which points are of the second. Points
// of the second that lie where the first has no curve are left out.
func (m *Effect) gather(first, second []curve.Point) (y, x, w []float64, in []bool) {
	c := m.Curve
	left := 0
	for k, points := range [][]curve.Point{first, second} {
		for _, p := range points {
			apparent := c.LevelOf(p.Signal)
			if p.Check {
				continue
			}
			if k == 1 && (math.IsNaN(apparent) || apparent > 1.05*c.Top) {
				left++
				continue
			}
			at := p.Cell()
			if k == 1 {
				at = math.Max(apparent, 0)
			}
			y, x = append(y, p.Signal), append(x, p.Cell())
			w, in = append(w, 1/c.Relative(at)), append(in, k == 1)
		}
	}
	if left > 0 {
		m.Notes = append(m.Notes, note.New("points-beyond-first-water").Number("points", float64(left)))
	}
	return y, x, w, in
}

// together fits curve, slope and offset at once, from slope 1 and offset 0 and
// from a line through what the second's signals are taken for.
func (m Effect) together(y, x, w []float64, in []bool) (num.NonlinearFit, error) {
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
	var apparent, level []float64
	for i := range x {
		if in[i] {
			apparent, level = append(apparent, m.Curve.LevelOf(y[i])), append(level, x[i])
		}
	}
	slope, offset := 1.0, 0.0
	if line, err := num.Polynomial(level, apparent, nil, 1); err == nil {
		slope, offset = line.Coef[1], line.Coef[0]
	}
	return problem.Fit(append(append([]float64(nil), m.Curve.Coef...), slope, offset))
}

func (m *Effect) compare(fit num.NonlinearFit) {
	t := num.TQuantile(0.975, float64(fit.DF))
	n := len(fit.Coef) - 2
	m.Slope, m.Offset = fit.Coef[n], fit.Coef[n+1]
	m.SlopeLow, m.SlopeHigh = m.Slope-t*fit.SE(n), m.Slope+t*fit.SE(n)
	m.OffsetLow, m.OffsetHigh = m.Offset-t*fit.SE(n+1), m.Offset+t*fit.SE(n+1)
	switch {
	case m.SlopeLow >= 1-m.Margin && m.SlopeHigh <= 1+m.Margin:
		m.Verdict = SameSlope
	case m.SlopeLow > 1 || m.SlopeHigh < 1:
		m.Verdict = DifferentSlope
	default:
		m.Verdict = curve.Undecided
	}
}

// Added is what standard additions say about a water.
type Added struct {
	known.Background
	SlopeRatio, SlopeRatioLow, SlopeRatioHigh float64 // against a curve's slope; NaN without one
	BentP                                     float64 // lack of fit of the line
}

// Additions estimates what a water holds from its signals after known additions
// (package known does the estimate), says whether they lie on a line, and, given a
// curve, whether it has the slope that the curve expects.
func Additions(points []curve.Point, zero, uZero float64, against *curve.Curve) (Added, error) {
	if faults := curve.Impossible(points); faults != nil {
		return Added{}, faults
	}
	var readings []known.Addition
	for _, p := range points {
		if !p.Check {
			readings = append(readings, known.Addition{Added: p.Level, Reading: interval.Exact(p.Signal)})
		}
	}
	scale := rise(points) // package known expects readings that are concentrations, slope about 1
	for i := range readings {
		readings[i].Reading = readings[i].Reading.Scale(1 / scale)
	}
	a := Added{Background: known.Additions(readings, zero/scale, uZero/scale), BentP: math.NaN(), SlopeRatio: math.NaN(), SlopeRatioLow: math.NaN(), SlopeRatioHigh: math.NaN()}
	a.Slope, a.USlope = a.Slope*scale, a.USlope*scale
	if line, err := curve.Fit(points, curve.Options{Shape: curve.Line, Weights: curve.Equal, Sure: true}); err == nil {
		a.BentP = line.LackOfFit
		if line.Contradicted() {
			a.Notes = append(a.Notes, note.New("additions-bent").Number("p", line.LackOfFit))
		}
	}
	if math.IsNaN(a.Value) {
		return a, nil
	}
	if against != nil {
		a.against(*against)
	}
	return a, nil
}

// rise is the size of the plain slope of points; 1 where they have none.
func rise(points []curve.Point) float64 {
	var x, y []float64
	for _, p := range points {
		if !p.Check {
			x, y = append(x, p.Level), append(y, p.Signal)
		}
	}
	if fit, err := num.Polynomial(x, y, nil, 1); err == nil && fit.Coef[1] != 0 {
		return math.Abs(fit.Coef[1])
	}
	return 1
}

// against compares slopes at the middle of what the cell held.
func (a *Added) against(c curve.Curve) {
	x := math.Min(math.Max(a.Value, c.Range.LevelLow), c.Range.LevelHigh)
	slope := c.Slope(x)
	g := slopeU(c, x)
	t := num.TQuantile(0.975, math.Min(a.Degrees, math.Max(1, c.DF)))
	a.SlopeRatio = a.Slope / slope
	u := math.Hypot(a.USlope/a.Slope, g/slope)
	a.SlopeRatioLow, a.SlopeRatioHigh = a.SlopeRatio*(1-t*u), a.SlopeRatio*(1+t*u)
}

// slopeU is the standard uncertainty of the slope at x, by differences of the
// gradient.
func slopeU(c curve.Curve, x float64) float64 {
	h := 1e-4 * (c.Range.LevelHigh - c.Range.LevelLow)
	up, down := make([]float64, c.Form().Params), make([]float64, c.Form().Params)
	c.Form().Gradient(c.Coef, x+h, up)
	c.Form().Gradient(c.Coef, x-h, down)
	for i := range up {
		up[i] = (up[i] - down[i]) / (2 * h)
	}
	return math.Sqrt(quadratic(c.Cov, up))
}

// quadratic form gᵀ·m·g.
func quadratic(m [][]float64, g []float64) float64 {
	s := 0.0
	for i := range m {
		for j := range m[i] {
			s += g[i] * m[i][j] * g[j]
		}
	}
	return s
}

func fault(found, want string) knownwater.Faults {
	return knownwater.Faults{{Found: found, Want: want}}
}
