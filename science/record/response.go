// Package record holds a method's record of performance in one scope: how a
// true concentration turns into readings. Its parts are the mean response with
// its doubt (as draws), the spread of single readings, and what the method can
// show at all (swatches, digits, drops). Package inverse turns it round.
package record

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/response"
)

// Why a shape could not be fitted.
var (
	ErrNoFit = errors.New("no finite fit")
	ErrFalls = errors.New("falls")
)

// Response is the mean reading as a function of the true concentration.
type Response struct {
	Shape  *response.Shape
	Params []float64 // of the best fit
	Why    note.Note // what the choice of shape rests on
	// LackOfFit is the p-value of the straight line against free level means.
	LackOfFit float64

	draws [][]float64                 // coefficients, one set a draw
	free  *Response                   // of a bent shape: the free curve, which some of the draws follow instead
	frees []bool                      // … which ones
	found map[response.Name][]float64 // where the search for each shape that was tried came to rest; nil: nowhere
}

// Fit finds the smallest adequate shape: the line if its misfit to the level means
// is no larger than their doubt explains (F test at 5 %), else of the bent ones whose
// bend has a cause (response.Shape) the one with the smallest misfit, and the free
// monotone curve through the level means if none is adequate. Polynomials turn back
// and are left to curves.
//
// Misfit = rᵀV⁻¹r/(L − p) with r the residuals of the L level means and V their
// covariance, shared errors included; it is held against F(L − p, DF)
// (IUPAC, Pure Appl. Chem. 70 (1998) 993–1014, lack of fit against replicates).
// A shape is only tried where levels outnumber its parameters.
func Fit(k Knowledge) (*Response, error) {
	if len(k.Level) < 2 {
		return nil, fmt.Errorf("one level alone shows no response")
	}
	k = k.settledAs()
	var best *Response
	bestMisfit := math.Inf(1)
	lineP := math.NaN()
	found := map[response.Name][]float64{}
	for _, f := range response.All {
		if !f.Caused || f.Light && !k.Signal || len(k.Level) < f.Params+1 && f.Name != response.Line {
			continue
		}
		r, misfit, err := fitShape(f, k)
		if err != nil {
			found[f.Name] = nil
			continue
		}
		found[f.Name] = r.Params
		df := float64(len(k.Level) - f.Params)
		p := misfitP(misfit, df, k.DF)
		if f.Name == response.Line {
			lineP = p
			if math.IsNaN(p) || p >= adequate {
				r.Why = whyLine(df, p, k.DF)
				best = r
				// A line that only just passes gives way to a bent shape that fits clearly better.
				if p < doubtful {
					bestMisfit = misfit - betterBy*k.DF/(k.DF-2)
					continue
				}
				break
			}
			continue
		}
		if p >= adequate && misfit < bestMisfit {
			r.Why = whyBent(lineP)
			best, bestMisfit = r, misfit
		}
	}
	if best == nil {
		best = freeMonotone(k)
		best.Why = note.New("no-shape-fits-means").Number("p", lineP)
	}
	best.LackOfFit, best.found = lineP, found
	if n := best.Shape.Name; n != response.Line && n != response.Free {
		best.mayBeFree(k)
	}
	return best, nil
}

// mayBeFree lets half of the draws follow the free curve. Knowns that agree with one bent shape agree with others: what it
// does between knowns that lie far apart nobody saw, and how sharply it bends it was told to. That it is half is a
// convention, held to made-up responses in docs/statistics.md. A draw of the formula that ran off follows the curve anyway.
func (r *Response) mayBeFree(k Knowledge) {
	if len(k.Draw) == 0 {
		return
	}
	r.free, r.frees = freeMonotone(k), make([]bool, len(k.Draw))
	rng := num.Source(freeTask)
	for d := range r.frees {
		r.frees[d] = rng.IntN(2) == 0 || r.ranOff(d, k)
	}
}

// ranOff says whether a draw misses its mean at a known by more than the response rises in all: the step that carried it
// along was too large for a shape that bends.
func (r *Response) ranOff(d int, k Knowledge) bool {
	rise := k.Mean[len(k.Mean)-1] - k.Mean[0]
	for i, c := range k.Level {
		if !(math.Abs(r.Shape.At(r.draws[d], c)-k.Draw[d][i]) <= rise) {
			return true
		}
	}
	return false
}

// freeTask is the source of which draws follow the free curve.
const freeTask = 31

// misfitP is the p-value of a misfit.
func misfitP(misfit, df, spreadDF float64) float64 {
	if df <= 0 || spreadDF <= 0 {
		return math.NaN()
	}
	return num.FSurvival(misfit/df, df, spreadDF)
}

const (
	adequate = 0.05
	doubtful = 0.20 // p of a line below which bent shapes are tried as well
	betterBy = 4    // … and must lower the misfit by this much for one more parameter, in units of the draws' variance
)

func whyLine(df, p, spreadDF float64) note.Note {
	switch {
	case df == 0:
		return note.New("two-levels-one-line")
	case spreadDF <= 0:
		return note.New("line-for-want")
	}
	return note.New("line-fits-means").Number("p", p)
}

func whyBent(lineP float64) note.Note {
	if lineP >= adequate {
		return note.New("line-only-just").Number("p", lineP)
	}
	return note.New("line-fails-the-means").Number("p", lineP)
}

// fitShape fits one shape by generalised least squares to the best means and
// carries every draw along by one Gauss–Newton step from there. A coefficient
// that must be positive is carried as its logarithm.
func fitShape(f *response.Shape, k Knowledge) (*Response, float64, error) {
	var best *linked
	misfit := math.Inf(1)
	for _, start := range starts(f, k) {
		l, miss, err := fitFrom(f, k, start)
		if err == nil && miss < misfit {
			best, misfit = l, miss
		}
	}
	if best == nil {
		return nil, 0, fmt.Errorf("%s: %w", f.Name, ErrNoFit)
	}
	if best.at(k.Level[len(k.Level)-1]) <= best.at(k.Level[0]) {
		return nil, 0, fmt.Errorf("%s: %w", f.Name, ErrFalls)
	}
	return best.carry(k, k.covariance(best))
}

// linked are coefficients of a shape on the scale on which they are spread: as they
// are, the positive one as its logarithm.
type linked struct {
	shape *response.Shape
	q     []float64
}

// plain are the coefficients themselves.
func (l *linked) plain(q []float64) []float64 {
	p := append([]float64(nil), q...)
	if j := l.shape.Positive; j >= 0 {
		p[j] = math.Exp(p[j])
	}
	return p
}

func (l *linked) at(c float64) float64 { return l.shape.At(l.plain(l.q), c) }

// gradient of the value in q.
func (l *linked) gradient(q []float64, c float64, g []float64) {
	p := l.plain(q)
	l.shape.Gradient(p, c, g)
	if j := l.shape.Positive; j >= 0 {
		g[j] *= p[j]
	}
}

// starts are where the search for a shape's coefficients begins.
func starts(f *response.Shape, k Knowledge) (out [][]float64) {
	if f.Linear {
		return [][]float64{make([]float64, f.Params)}
	}
	var from [][]float64
	if near, tried := k.Near.at(f.Name); tried {
		if near == nil { // it fits those means not at all
			return nil
		}
		from = [][]float64{slices.Clone(near)}
	} else if q, err := num.Polynomial(k.Level, k.Mean, nil, 2); err == nil {
		from = f.Starts(q.Coef, k.Level, k.Mean)
	}
	for _, p := range from {
		if j := f.Positive; j >= 0 {
			if !(p[j] > 0) {
				continue
			}
			p[j] = math.Log(p[j])
		}
		out = append(out, p)
	}
	return out
}

// at is where the search for a shape came to rest, if it was tried.
func (r *Response) at(f response.Name) (rest []float64, tried bool) {
	if r == nil {
		return nil, false
	}
	rest, tried = r.found[f]
	return rest, tried
}

// fitFrom searches from a start, in two passes: the knowns' errors count by the
// slope, which the first pass finds.
func fitFrom(f *response.Shape, k Knowledge, start []float64) (*linked, float64, error) {
	l := &linked{f, start}
	if f.Linear { // any slope will do to begin with: that of the two ends
		l.q[1] = (k.Mean[len(k.Mean)-1] - k.Mean[0]) / (k.Level[len(k.Level)-1] - k.Level[0])
	}
	misfit := math.NaN()
	g := make([]float64, f.Params)
	for range 2 {
		if f.Linear { // at once: no steps that have to come to rest where a line misses nothing at all
			fit, err := num.GLS(jacobianAt(l, k.Level), k.Mean, k.covariance(l))
			if err != nil {
				return nil, 0, err
			}
			l.q, misfit = fit.Coef, fit.ANOVA.ResidualSS
			continue
		}
		fit, err := num.Nonlinear{
			Model: func(q, fitted []float64) {
				p := l.plain(q)
				for i, c := range k.Level {
					fitted[i] = f.At(p, c)
				}
			},
			Jacobian: func(q []float64, jac [][]float64) {
				for i, c := range k.Level {
					l.gradient(q, c, g)
					for j := range jac {
						jac[j][i] = g[j]
					}
				}
			},
			Y: k.Mean, V: k.covariance(l),
		}.Fit(l.q)
		if err != nil {
			return nil, 0, err
		}
		l.q, misfit = fit.Coef, fit.ResidualSS
	}
	for _, b := range l.plain(l.q) {
		if math.IsNaN(b) || math.IsInf(b, 0) {
			return nil, 0, fmt.Errorf("%s: %w", f.Name, ErrNoFit)
		}
	}
	return l, misfit, nil
}

// jacobianAt are the gradients at concentrations, [concentration][parameter].
func jacobianAt(l *linked, levels []float64) [][]float64 {
	jac := make([][]float64, len(levels))
	for i, c := range levels {
		jac[i] = make([]float64, l.shape.Params)
		l.gradient(l.q, c, jac[i])
	}
	return jac
}

// carry moves the parameters with each draw of the level means: θ_k = θ + G·(y_k − fitted),
// G = (JᵀV⁻¹J)⁻¹JᵀV⁻¹, found by generalised least squares on the Jacobian.
// It returns the misfit rᵀV⁻¹r of the best means.
func (l *linked) carry(k Knowledge, v [][]float64) (*Response, float64, error) {
	f, n := l.shape, len(k.Level)
	r := &Response{Shape: f, Params: l.plain(l.q)}
	jac := jacobianAt(l, k.Level)
	fitted, slope := make([]float64, n), make([]float64, n)
	for i, c := range k.Level {
		fitted[i], slope[i] = f.At(r.Params, c), f.Slope(r.Params, c)
	}
	gain, misfit, err := gainOf(jac, v, residual(k.Mean, fitted))
	if err != nil {
		return nil, 0, err
	}
	r.draws = make([][]float64, len(k.Draw))
	for d := range k.Draw {
		q := append([]float64(nil), l.q...)
		for j := range q {
			for i := range n {
				q[j] += gain[j][i] * (k.Draw[d][i] - slope[i]*k.Known[d][i] - k.Mean[i])
			}
		}
		r.draws[d] = l.plain(q)
	}
	return r, misfit, nil
}

func residual(y, fitted []float64) []float64 {
	r := make([]float64, len(y))
	for i := range y {
		r[i] = y[i] - fitted[i]
	}
	return r
}

// gainOf solves the least-squares map column by column: the fit to a unit
// change of one level mean is one column of G.
func gainOf(jac, v [][]float64, res []float64) (gain [][]float64, misfit float64, err error) {
	n, p := len(jac), len(jac[0])
	gain = make([][]float64, p)
	for j := range gain {
		gain[j] = make([]float64, n)
	}
	for i := range n {
		unit := make([]float64, n)
		unit[i] = 1
		fit, err := num.GLS(jac, unit, v)
		if err != nil {
			return nil, 0, err
		}
		for j := range p {
			gain[j][i] = fit.Coef[j]
		}
	}
	fit, err := num.GLS(jac, res, v)
	if err != nil {
		return nil, 0, err
	}
	return gain, fit.ANOVA.ResidualSS, nil
}

// At is the best mean reading at concentration c.
func (r *Response) At(c float64) float64 { return r.Shape.At(r.Params, c) }

// Draw is draw d of the mean reading at concentration c.
func (r *Response) Draw(d int, c float64) float64 {
	if r.free != nil && r.frees[d] {
		return r.free.Draw(d, c)
	}
	return r.Found(d, c)
}

// Found is that of the shape that was found, whichever else the knowns agree with.
func (r *Response) Found(d int, c float64) float64 { return r.Shape.At(r.draws[d], c) }

// Thin keeps the listed draws.
func (r *Response) Thin(idx []int) *Response {
	t := *r
	t.draws = make([][]float64, len(idx))
	for i, d := range idx {
		t.draws[i] = r.draws[d]
	}
	if r.free != nil {
		t.free, t.frees = r.free.Thin(idx), make([]bool, len(idx))
		for i, d := range idx {
			t.frees[i] = r.frees[d]
		}
	}
	return &t
}
