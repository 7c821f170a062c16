package num

import (
	"errors"
	"fmt"
	"math"
)

// Nonlinear is a least-squares problem in parameters that enter as they like.
type Nonlinear struct {
	// Model fills fitted with the values for the parameters par.
	Model func(par, fitted []float64)
	// Jacobian, if given, fills jac[j][i] with ∂fitted_i/∂par_j. Without it
	// differences of fourth order are taken (about 12 digits of a smooth model).
	Jacobian func(par []float64, jac [][]float64)

	Y []float64
	W []float64   // weights; nil: equal
	V [][]float64 // or the full covariance of Y, in place of W
}

// NonlinearFit is a minimum. Covariances are those of the linear model with the
// Jacobian at the minimum.
type NonlinearFit struct {
	Coef       []float64
	Unscaled   [][]float64 // (JᵀWJ)⁻¹: the covariance where W or V is known
	Cov        [][]float64 // SD²·Unscaled
	Residual   []float64   // Y − fitted, not weighted
	ResidualSS float64     // weighted
	SD         float64
	DF         int
	// Offset is how far the residuals still lean into the fitted surface (Bates
	// & Watts 1981): an error of the parameters in their standard errors.
	Offset float64
	Steps  int
}

// SE is the standard error of parameter j from Cov.
func (f NonlinearFit) SE(j int) float64 { return math.Sqrt(f.Cov[j][j]) }

// ErrNoMinimum says that no point was reached where the gradient vanishes.
var ErrNoMinimum = errors.New("no minimum found")

const (
	nonlinearSteps   = 2000
	offsetGoodEnough = 1e-6
)

// Fit searches from start: Levenberg–Marquardt steps (each a QR of the Jacobian
// stacked on the damping; J. J. Moré 1978, Lect. Notes Math. 630, 105; damping
// after H. B. Nielsen 1999), then Gauss–Newton steps as long as the gradient
// shrinks. Where that strays into a flat region it starts again with shorter
// first steps. A minimum is judged by the gradient (Offset ≤ 1e-6) and by
// parameters that can be told apart there, not by small steps. It is a local
// one: try other starts.
func (p Nonlinear) Fit(start []float64) (NonlinearFit, error) {
	s, err := p.prepare(start)
	if err != nil {
		return NonlinearFit{}, err
	}
	first, ok := s.evaluate(start)
	if !ok {
		return NonlinearFit{}, errors.New("the model is not a number at the start")
	}
	for _, damping := range []float64{1e-3, 1, 1e3} {
		var f NonlinearFit
		if f, err = s.from(first, damping); err == nil {
			return f, nil
		}
	}
	return NonlinearFit{}, err
}

func (s *search) from(at point, damping float64) (NonlinearFit, error) {
	at, steps := s.descend(at, damping)
	at = s.polish(at)
	if !(at.offset <= offsetGoodEnough) {
		return NonlinearFit{}, fmt.Errorf("%w: after %d steps the gradient is not small (offset %.1g)", ErrNoMinimum, steps, at.offset)
	}
	return s.finish(at, steps)
}

// search is a checked problem.
type search struct {
	Nonlinear
	whiten func([]float64) []float64
	m      int
}

// point is a place on the way: weighted residuals, Jacobian, its QR, gradient.
type point struct {
	par    []float64
	r      []float64
	ss     float64
	jac    [][]float64
	offset float64
	newton []float64 // the Gauss–Newton step from here; nil where J is rank deficient
}

func (p Nonlinear) prepare(start []float64) (*search, error) {
	s := &search{Nonlinear: p, m: len(start)}
	ones := make([][]float64, len(p.Y))
	for i := range ones {
		ones[i] = make([]float64, len(start))
	}
	if err := checkDesign(ones, p.Y, p.W); err != nil {
		return nil, err
	}
	for j, v := range start {
		if !finite(v) {
			return nil, fmt.Errorf("start %d is %g", j+1, v)
		}
	}
	switch {
	case p.V != nil:
		l, err := newCholesky(p.V)
		if err != nil {
			return nil, err
		}
		if len(l) != len(p.Y) {
			return nil, fmt.Errorf("a covariance of %d rows does not match %d values", len(l), len(p.Y))
		}
		s.whiten = l.whiten
	case p.W != nil:
		s.whiten = func(c []float64) []float64 {
			out := make([]float64, len(c))
			for i := range c {
				out[i] = math.Sqrt(p.W[i]) * c[i]
			}
			return out
		}
	default:
		s.whiten = func(c []float64) []float64 { return append([]float64(nil), c...) }
	}
	return s, nil
}

// residuals are Y − fitted, weighted, and their sum of squares.
func (s *search) residuals(par []float64) ([]float64, float64) {
	fitted := make([]float64, len(s.Y))
	s.Model(par, fitted)
	for i := range fitted {
		fitted[i] = s.Y[i] - fitted[i]
	}
	r := s.whiten(fitted)
	var ss Sum
	for _, v := range r {
		ss.AddProduct(v, v)
	}
	return r, ss.Value()
}

func (s *search) evaluate(par []float64) (point, bool) {
	at := point{par: append([]float64(nil), par...)}
	at.r, at.ss = s.residuals(par)
	if !finite(at.ss) {
		return at, false
	}
	raw := make([][]float64, s.m)
	for j := range raw {
		raw[j] = make([]float64, len(s.Y))
	}
	if s.Jacobian != nil {
		s.Jacobian(par, raw)
	} else {
		s.differences(par, raw)
	}
	for _, c := range raw {
		w := s.whiten(c)
		if !finite(norm2(w)) {
			return at, false
		}
		at.jac = append(at.jac, w)
	}
	at.offset, at.newton = s.lean(at)
	return at, true
}

// lean is the offset at a point and its Gauss–Newton step.
func (s *search) lean(at point) (float64, []float64) {
	q := newHouseholder(at.jac)
	z := append([]float64(nil), at.r...)
	q.mulQT(z)
	in, out := norm2(z[:s.m]), norm2(z[s.m:])
	offset := in / math.Sqrt(float64(s.m)) / (out / math.Sqrt(float64(len(z)-s.m)))
	if norm2(at.r) <= 1e-14*norm2(s.whiten(s.Y)) || len(z) == s.m && in == 0 {
		offset = 0 // an exact fit: nothing is left to lean
	}
	q.solveR(z)
	step := z[:s.m]
	if !finite(norm2(step)) {
		step = nil
	}
	return offset, step
}

// differences fills in ∂fitted/∂par by the five-point formula.
func (s *search) differences(par []float64, jac [][]float64) {
	p := append([]float64(nil), par...)
	f := make([]float64, len(s.Y))
	for j := range p {
		h := 1e-3 * math.Abs(par[j])
		if h == 0 {
			h = 1e-5
		}
		for _, k := range [...]struct{ at, weight float64 }{{-2, 1}, {-1, -8}, {1, 8}, {2, -1}} {
			p[j] = par[j] + k.at*h
			s.Model(p, f)
			for i := range f {
				jac[j][i] += k.weight * f[i]
			}
		}
		for i := range f {
			jac[j][i] /= 12 * h
		}
		p[j] = par[j]
	}
}

// descend takes damped steps until the offset is small or no step lowers the
// sum of squares any more.
func (s *search) descend(at point, lambda float64) (point, int) {
	grow := 2.0
	scale := make([]float64, s.m)
	for step := 1; step <= nonlinearSteps; step++ {
		if at.offset < 1e-9 {
			return at, step
		}
		for j, c := range at.jac {
			scale[j] = max(scale[j], norm2(c))
		}
		d, gain := s.damped(at, lambda, scale)
		next := make([]float64, s.m)
		for j := range next {
			next[j] = at.par[j] + d[j]
		}
		r, ss := s.residuals(next)
		ratio := (at.ss - ss) / gain
		if finite(norm2(r)) && ss < at.ss && ratio > 1e-4 {
			if to, ok := s.evaluate(next); ok {
				at = to
				lambda *= max(1.0/3, 1-math.Pow(2*ratio-1, 3))
				lambda, grow = max(lambda, 1e-15), 2
				continue
			}
		}
		lambda *= grow
		grow *= 2
		if lambda > 1e30 {
			return at, step
		}
	}
	return at, nonlinearSteps
}

// damped is the step that minimises |r − J·d|² + λ·|D·d|², and by how much the
// sum of squares should fall.
func (s *search) damped(at point, lambda float64, scale []float64) (d []float64, gain float64) {
	n := len(at.r)
	stacked := make([][]float64, s.m)
	root := math.Sqrt(lambda)
	for j, c := range at.jac {
		stacked[j] = append(append(make([]float64, 0, n+s.m), c...), make([]float64, s.m)...)
		stacked[j][n+j] = root * max(scale[j], 1e-300)
	}
	z := append(append(make([]float64, 0, n+s.m), at.r...), make([]float64, s.m)...)
	q := newHouseholder(stacked)
	q.mulQT(z)
	q.solveR(z)
	d = z[:s.m]
	var jd, dd float64
	for i := range at.r {
		v := 0.0
		for j := range d {
			v += at.jac[j][i] * d[j]
		}
		jd += v * v
	}
	for j := range d {
		dd += (scale[j] * d[j]) * (scale[j] * d[j])
	}
	return d, jd + 2*lambda*dd
}

// polish takes Gauss–Newton steps while they lower the offset: close to the
// minimum the sum of squares no longer tells points apart, the gradient does.
func (s *search) polish(at point) point {
	for range 50 {
		if at.newton == nil || at.offset == 0 {
			break
		}
		next := make([]float64, s.m)
		for j := range next {
			next[j] = at.par[j] + at.newton[j]
		}
		to, ok := s.evaluate(next)
		if !ok || !(to.offset < at.offset) || to.ss > at.ss*(1+1e-9) {
			break
		}
		at = to
	}
	return at
}

func (s *search) finish(at point, steps int) (NonlinearFit, error) {
	f := NonlinearFit{Coef: at.par, ResidualSS: at.ss, Offset: at.offset, Steps: steps, SD: math.NaN()}
	for i := range s.Y {
		if s.W == nil || s.W[i] > 0 {
			f.DF++
		}
	}
	f.DF -= s.m
	if f.DF > 0 {
		f.SD = math.Sqrt(at.ss / float64(f.DF))
	}
	columns := make([][]twofold, s.m)
	for j := range columns {
		columns[j] = make([]twofold, len(at.r))
		for i, v := range at.jac[j] {
			columns[j][i].hi = v
		}
	}
	a, err := newAugmented(columns)
	if err != nil {
		return NonlinearFit{}, fmt.Errorf("the parameters cannot be told apart at the minimum: %w", err)
	}
	if f.Unscaled, err = a.inverseNormal(); err != nil {
		return NonlinearFit{}, err
	}
	f.Cov = scaled(f.Unscaled, f.SD*f.SD)
	f.Residual = make([]float64, len(s.Y))
	s.Model(at.par, f.Residual)
	for i := range f.Residual {
		f.Residual[i] = s.Y[i] - f.Residual[i]
	}
	return f, nil
}
