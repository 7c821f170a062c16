package curve

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"knownwater/science/num"
	"knownwater/science/response"
)

// solution is a shape fitted to levels under one set of relative variances.
type solution struct {
	coef  []float64
	noise [][]float64 // covariance from the scatter of signals
	known [][]float64 // covariance from the knowns' errors; nil if they are exact
	size  float64     // S: the standard deviation where v = 1
	df    float64     // degrees of freedom behind S
	rss   float64     // Σ w·residual², w = 1/v, over all points
	miss  float64     // the part of it that replicates do not explain, over levels
	logML float64     // logarithm of the likelihood of v, coefficients and S integrated out
}

// problem is everything that a fit needs but the shape and the variances.
type problem struct {
	levels
	known [][]float64 // covariance of the knowns; nil: exact
	zero  bool        // through zero
	ways  []way       // how signals may scatter, by what replicates say; nil: weights are fixed, or there are none
}

// way are relative variances at the levels, and their probabilities.
type way struct {
	v []float64
	chances
}

func (pr problem) free(f *response.Shape) int {
	if pr.zero {
		return f.Params - 1
	}
	return f.Params
}

var errNoFit = errors.New("no fit found")

// solve fits a shape. For exact knowns S² = Σ w·r²/(N − p), its degrees of
// freedom N − p. Where the knowns have errors, S is that of the replicates (or,
// without any, what the misfit leaves beside the knowns), and the fit is
// generalised least squares with both (ISO/TS 28037:2010; for shapes other than
// lines the knowns' errors count by the slope at each level).
func (pr problem) solve(f *response.Shape, v, start []float64) (solution, error) {
	if pr.known == nil {
		return pr.solveExact(f, v, start)
	}
	return pr.solveKnown(f, v, start)
}

func (pr problem) solveExact(f *response.Shape, v, start []float64) (solution, error) {
	w := make([]float64, pr.count())
	for l := range w {
		w[l] = pr.n[l] / v[l]
	}
	coef, unscaled, miss, err := pr.least(f, w, nil, start)
	if err != nil {
		return solution{}, err
	}
	s := solution{coef: coef, miss: miss, rss: miss + pr.pure(v), df: float64(pr.points - pr.free(f)), size: math.NaN()}
	if s.df > 0 {
		s.size = math.Sqrt(s.rss / s.df)
	}
	s.noise = times(unscaled, s.size*s.size)
	s.logML = 0.5*logDet(unscaled, pr.zero) - s.df/2*math.Log(s.rss)
	for l := range v {
		s.logML -= pr.n[l] / 2 * math.Log(v[l])
	}
	return s, nil
}

// least is the least-squares step on level means, with weights or a covariance.
// Coefficients are full length; with a forced zero the first is 0.
func (pr problem) least(f *response.Shape, w []float64, cov [][]float64, start []float64) (coef []float64, unscaled [][]float64, ss float64, err error) {
	first := f.Params - pr.free(f)
	if f.Linear {
		fit, err := pr.linear(f, first, w, cov)
		if err != nil {
			return nil, nil, 0, err
		}
		return padded(fit.Coef, first), paddedMatrix(fit.Unscaled, first), fit.ANOVA.ResidualSS, nil
	}
	full := func(p []float64) []float64 { return padded(p, first) }
	g := make([]float64, f.Params)
	fit, err := num.Nonlinear{
		Y: pr.mean, W: w, V: cov,
		Model: func(p, fitted []float64) {
			for i, c := range pr.c {
				fitted[i] = f.At(full(p), c)
			}
		},
		Jacobian: func(p []float64, jac [][]float64) {
			for i, c := range pr.c {
				f.Gradient(full(p), c, g)
				for j := range jac {
					jac[j][i] = g[j+first]
				}
			}
		},
	}.Fit(start[first:])
	if err != nil {
		return nil, nil, 0, err
	}
	for _, b := range fit.Coef {
		if math.IsNaN(b) || math.IsInf(b, 0) {
			return nil, nil, 0, errNoFit
		}
	}
	return full(fit.Coef), paddedMatrix(fit.Unscaled, first), fit.ResidualSS, nil
}

func (pr problem) linear(f *response.Shape, first int, w []float64, cov [][]float64) (num.Fit, error) {
	if first == 0 && cov == nil {
		return num.Polynomial(pr.c, pr.mean, w, f.Params-1)
	}
	x := make([][]float64, pr.count())
	for i, c := range pr.c {
		g := make([]float64, f.Params)
		f.Gradient(nil, c, g)
		x[i] = g[first:]
	}
	if cov != nil {
		return num.GLS(x, pr.mean, cov)
	}
	return num.LeastSquares(x, pr.mean, w)
}

// padded puts the coefficients that are forced to 0 back in front.
func padded(p []float64, first int) []float64 {
	return append(make([]float64, first, first+len(p)), p...)
}

func paddedMatrix(m [][]float64, first int) [][]float64 {
	if first == 0 {
		return m
	}
	out := [][]float64{make([]float64, len(m)+1)}
	for _, row := range m {
		out = append(out, padded(row, first))
	}
	return out
}

func times(m [][]float64, k float64) [][]float64 {
	out := make([][]float64, len(m))
	for i := range m {
		out[i] = make([]float64, len(m[i]))
		for j := range m[i] {
			out[i][j] = k * m[i][j]
		}
	}
	return out
}

func plus(a, b [][]float64) [][]float64 {
	if b == nil {
		return a
	}
	out := times(a, 1)
	for i := range b {
		for j := range b[i] {
			out[i][j] += b[i][j]
		}
	}
	return out
}

// quadratic form gᵀ·m·g.
func square(m [][]float64, g []float64) float64 { return num.Bilinear(g, m, g) }

// logDet is the logarithm of a covariance's determinant, its first row left out
// where that is forced to 0.
func logDet(m [][]float64, zero bool) float64 {
	skip := 0
	if zero {
		skip = 1
	}
	s := mat.NewSymDense(len(m)-skip, nil)
	for i := range m[skip:] {
		for j := range i + 1 {
			s.SetSym(i, j, m[i+skip][j+skip])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(s) {
		return math.NaN()
	}
	return c.LogDet()
}
