// Package record holds a method's record of performance in one scope: how a
// true concentration turns into readings. Its parts are the mean response with
// its doubt (as draws), the spread of single readings, and what the method can
// show at all (swatches, digits, drops). Package inverse turns it round.
package record

import (
	"fmt"
	"math"
	"sort"

	"knownwater/science/num"
)

// Knowledge is what a trial knows of a response: level means with all their doubt.
type Knowledge struct {
	Level []float64   // rising
	Mean  []float64   // best mean reading at each level
	Draw  [][]float64 // [draw][level]: equally likely mean readings
	Known [][]float64 // [draw][level]: equally likely errors of the knowns, true − stated
	DF    float64     // degrees of freedom behind the spread; 0 if there are none
	// Signal says that the readings are of light, so that stray light may bend them.
	Signal bool
}

// Response is the mean reading as a function of the true concentration.
type Response struct {
	Name   string
	Params []float64 // of the best fit, positive ones turned back from logarithms
	Why    string
	// LackOfFit is the p-value of the straight line against free level means.
	LackOfFit float64

	form  *form
	best  []float64
	draws [][]float64
	knots []float64 // of the free shape
}

// Fit finds the smallest adequate shape: the first of line, saturating, dead
// zone, stray light whose misfit to the level means is no larger than their
// doubt explains (F test at 5 %), the one with the smallest misfit among the
// bent ones, and the free monotone curve through the level means if none is.
//
// Misfit = rᵀV⁻¹r/(L − p) with r the residuals of the L level means and V their
// covariance, shared errors included; it is held against F(L − p, DF)
// (IUPAC, Pure Appl. Chem. 70 (1998) 993–1014, lack of fit against replicates).
// A shape is only tried where levels outnumber its parameters.
func Fit(k Knowledge) (*Response, error) {
	if len(k.Level) < 2 {
		return nil, fmt.Errorf("one level alone shows no response")
	}
	var best *Response
	bestMisfit := math.Inf(1)
	lineP := math.NaN()
	for i := range forms {
		f := &forms[i]
		if f.signal && !k.Signal || len(k.Level) < f.params+1 && f.name != Line {
			continue
		}
		r, misfit, err := fitForm(f, k)
		if err != nil {
			continue
		}
		df := float64(len(k.Level) - f.params)
		p := misfitP(misfit, df, k.DF)
		if f.name == Line {
			lineP = p
			if math.IsNaN(p) || p >= adequate {
				r.Why = whyLine(df, p, k.DF)
				best = r
				// A line that only just passes gives way to a bent shape that fits clearly better.
				if p < doubtful {
					bestMisfit = misfit - betterBy
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
		best.Why = fmt.Sprintf("no simple shape fits (straight line: p = %s); the curve goes through the level means, never falling", shortP(lineP))
	}
	best.LackOfFit = lineP
	return best, nil
}

// misfitP is the p-value of a misfit. V comes from draws, whose variance is
// larger than the plug-in one by ν/(ν − 2), as that of a t distribution is;
// F wants the plug-in one.
func misfitP(misfit, df, spreadDF float64) float64 {
	if df <= 0 || spreadDF <= 2 {
		return math.NaN()
	}
	return num.FSurvival(misfit*spreadDF/(spreadDF-2)/df, df, spreadDF)
}

const (
	adequate = 0.05
	doubtful = 0.20 // p of a line below which bent shapes are tried as well
	betterBy = 4    // … and must lower the misfit by this much for one more parameter
)

func shortP(p float64) string {
	switch {
	case math.IsNaN(p):
		return "not known"
	case p < 0.001:
		return "below 0.001"
	}
	return fmt.Sprintf("%.2g", p)
}

func whyLine(df, p, spreadDF float64) string {
	switch {
	case df == 0:
		return "two levels carry no more than a straight line"
	case spreadDF <= 0:
		return "without repeats nothing judges the fit; a straight line is the least that can be drawn"
	case spreadDF <= 2:
		return "the spread is known too loosely to judge the fit; a straight line is the least that can be drawn"
	}
	return fmt.Sprintf("a straight line fits (lack of fit p = %s)", shortP(p))
}

func whyBent(lineP float64) string {
	if lineP >= adequate {
		return fmt.Sprintf("a straight line only just passes (p = %s) and this shape fits clearly better", shortP(lineP))
	}
	return fmt.Sprintf("a straight line does not fit (p = %s); the smallest shape that does", shortP(lineP))
}

// fitForm fits one family by generalised least squares to the best means and
// carries every draw along by one Gauss–Newton step from there.
func fitForm(f *form, k Knowledge) (*Response, float64, error) {
	start := f.start(k.Level, k.Mean)
	best := start
	var v [][]float64
	for range 2 { // the knowns' errors count by the slope, which the first pass finds
		v = covariance(k, f, best)
		fit, err := num.Nonlinear{
			Model: func(par, fitted []float64) {
				for i, c := range k.Level {
					fitted[i] = f.eval(par, c)
				}
			},
			Y: k.Mean, V: v,
		}.Fit(best)
		if err != nil {
			return nil, 0, err
		}
		best = fit.Coef
	}
	for _, b := range best {
		if math.IsNaN(b) || math.IsInf(b, 0) {
			return nil, 0, fmt.Errorf("%s: no finite fit", f.name)
		}
	}
	if f.eval(best, k.Level[len(k.Level)-1]) <= f.eval(best, k.Level[0]) {
		return nil, 0, fmt.Errorf("%s: falls", f.name)
	}
	r := &Response{Name: f.name, form: f, best: best, Params: shown(f, best)}
	misfit, err := r.carry(k, v)
	return r, misfit, err
}

func shown(f *form, p []float64) []float64 {
	s := append([]float64(nil), p...)
	for i := 2; i < len(s); i++ {
		s[i] = math.Exp(s[i])
	}
	return s
}

// covariance is that of the level means as points of the response: of the
// draws, and of the knowns through the slope.
func covariance(k Knowledge, f *form, p []float64) [][]float64 {
	n := len(k.Level)
	points := make([][]float64, len(k.Draw))
	slope := make([]float64, n)
	for i, c := range k.Level {
		slope[i] = slopeOf(func(c float64) float64 { return f.eval(p, c) }, c, k.Level[n-1])
	}
	for d := range k.Draw {
		points[d] = make([]float64, n)
		for i := range points[d] {
			points[d][i] = k.Draw[d][i] - slope[i]*k.Known[d][i]
		}
	}
	return Covariance(points)
}

// Covariance of equally weighted draws, [draw][quantity].
func Covariance(draws [][]float64) [][]float64 {
	n, count := len(draws[0]), float64(len(draws))
	mean := make([]float64, n)
	for _, d := range draws {
		for i, v := range d {
			mean[i] += v / count
		}
	}
	v := make([][]float64, n)
	for i := range v {
		v[i] = make([]float64, n)
	}
	for _, d := range draws {
		for i := range n {
			for j := range i + 1 {
				v[i][j] += (d[i] - mean[i]) * (d[j] - mean[j]) / (count - 1)
			}
		}
	}
	for i := range n {
		v[i][i] *= 1 + 1e-9 // keeps draws of exact readings positive definite
		v[i][i] += 1e-300
		for j := range i {
			v[j][i] = v[i][j]
		}
	}
	return v
}

func slopeOf(f func(float64) float64, c, top float64) float64 {
	h := 1e-5 * top
	return (f(c+h) - f(c-h)) / (2 * h)
}

// carry moves the parameters with each draw of the level means: θ_k = θ + G·(y_k − fitted),
// G = (JᵀV⁻¹J)⁻¹JᵀV⁻¹, found by generalised least squares on the Jacobian.
// It returns the misfit rᵀV⁻¹r of the best means.
func (r *Response) carry(k Knowledge, v [][]float64) (float64, error) {
	f, n, p := r.form, len(k.Level), r.form.params
	jac := make([][]float64, n)
	fitted, slope := make([]float64, n), make([]float64, n)
	for i, c := range k.Level {
		fitted[i] = f.eval(r.best, c)
		slope[i] = slopeOf(func(c float64) float64 { return f.eval(r.best, c) }, c, k.Level[n-1])
		jac[i] = make([]float64, p)
		for j := range p {
			q := append([]float64(nil), r.best...)
			h := 1e-6 * math.Max(1e-3, math.Abs(q[j]))
			q[j] += h
			up := f.eval(q, c)
			q[j] -= 2 * h
			jac[i][j] = (up - f.eval(q, c)) / (2 * h)
		}
	}
	gain, misfit, err := gainOf(jac, v, residual(k.Mean, fitted))
	if err != nil {
		return 0, err
	}
	r.draws = make([][]float64, len(k.Draw))
	for d := range k.Draw {
		q := append([]float64(nil), r.best...)
		for j := range q {
			for i := range n {
				q[j] += gain[j][i] * (k.Draw[d][i] - slope[i]*k.Known[d][i] - k.Mean[i])
			}
		}
		r.draws[d] = q
	}
	return misfit, nil
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

// freeMonotone joins the level means, made never falling; weights are their doubt.
func freeMonotone(k Knowledge) *Response {
	cov := Covariance(k.Draw)
	w := make([]float64, len(k.Level))
	for i := range w {
		w[i] = 1 / cov[i][i]
	}
	r := &Response{Name: Free, knots: k.Level, best: num.Isotonic(k.Mean, w), Params: nil}
	slope := make([]float64, len(k.Level))
	for i, c := range k.Level {
		slope[i] = slopeOf(func(c float64) float64 { return along(k.Level, r.best, c) }, c, k.Level[len(k.Level)-1])
	}
	for d := range k.Draw {
		y := make([]float64, len(k.Level))
		for i := range y {
			y[i] = k.Draw[d][i] - slope[i]*k.Known[d][i]
		}
		r.draws = append(r.draws, num.Isotonic(y, w))
	}
	return r
}

// along is the broken line through (x, y); outside it the end pieces go on.
func along(x, y []float64, at float64) float64 {
	n := len(x)
	i := sort.SearchFloat64s(x, at)
	i = min(max(i, 1), n-1)
	t := (at - x[i-1]) / (x[i] - x[i-1])
	return y[i-1] + t*(y[i]-y[i-1])
}

// At is the best mean reading at concentration c.
func (r *Response) At(c float64) float64 { return r.eval(r.best, c) }

// Draw is draw d of the mean reading at concentration c.
func (r *Response) Draw(d int, c float64) float64 { return r.eval(r.draws[d], c) }

func (r *Response) eval(p []float64, c float64) float64 {
	if r.form == nil {
		return along(r.knots, p, c)
	}
	return r.form.eval(p, c)
}

// Thin keeps the listed draws.
func (r *Response) Thin(idx []int) *Response {
	t := *r
	t.draws = make([][]float64, len(idx))
	for i, d := range idx {
		t.draws[i] = r.draws[d]
	}
	return &t
}
