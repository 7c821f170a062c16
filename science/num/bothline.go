package num

import (
	"errors"
	"fmt"
	"math"
)

// Line is y = Intercept + Slope·x.
//
// Standard errors and covariance follow from the stated uncertainties as they
// are (the convention of York 2004 and ISO/TS 28037). Where those are only
// known up to a factor, multiply by Birge; where they are right, ChiSquare has
// DF degrees of freedom.
type Line struct {
	Intercept, Slope     float64
	SEIntercept, SESlope float64
	Covariance           float64 // of intercept and slope
	ChiSquare            float64 // smallest weighted sum of squares
	DF                   int
	X                    []float64 // the x that the line and both errors make likeliest
}

// Birge is √(ChiSquare/DF), how much larger the scatter is than stated.
func (l Line) Birge() float64 { return math.Sqrt(l.ChiSquare / float64(l.DF)) }

// ErrNoLine says that the iteration for a line came to no end.
var ErrNoLine = errors.New("no line found: the points do not determine one within their errors")

// bothErrors are the errors of x and y as the iteration sees them. For a slope b,
// V = cov(y − b·x).
type bothErrors interface {
	at(b float64) error            // makes V for this slope
	solve(c []float64) []float64   // V⁻¹·c
	towards(z []float64) []float64 // (b·Vx − Vxy)·z: moves x to the line
}

// York fits a line to points with standard uncertainties ux, uy and correlation
// r of each point's two errors (nil: none), independent between points: York,
// Evensen, Martínez & Delgado 2004, Am. J. Phys. 72, 367, which agrees with
// least squares in both errors and with maximum likelihood. A ux or a uy may be
// 0, not both.
func York(x, y, ux, uy, r []float64) (Line, error) {
	n := len(x)
	if len(y) != n || len(ux) != n || len(uy) != n || r != nil && len(r) != n {
		return Line{}, errors.New("x, y and their uncertainties differ in number")
	}
	p := &pointErrors{vx: make([]float64, n), vy: make([]float64, n), vxy: make([]float64, n), v: make([]float64, n)}
	for i := range x {
		if !(ux[i] >= 0 && uy[i] >= 0) || r != nil && !(math.Abs(r[i]) <= 1) {
			return Line{}, fmt.Errorf("point %d: uncertainties are 0 or more, correlations within −1 … 1", i+1)
		}
		p.vx[i], p.vy[i] = ux[i]*ux[i], uy[i]*uy[i]
		if r != nil {
			p.vxy[i] = r[i] * ux[i] * uy[i]
		}
	}
	return bothLine(x, y, p)
}

// pointErrors are errors that points do not share.
type pointErrors struct {
	vx, vy, vxy, v []float64
	b              float64
}

func (p *pointErrors) at(b float64) error {
	p.b = b
	for i := range p.v {
		p.v[i] = p.vy[i] + b*b*p.vx[i] - 2*b*p.vxy[i]
		if !(p.v[i] > 0) || math.IsInf(p.v[i], 0) {
			return fmt.Errorf("point %d has no error across a line of slope %.4g: %w", i+1, b, ErrNotPositive)
		}
	}
	return nil
}

func (p *pointErrors) solve(c []float64) []float64 {
	out := make([]float64, len(c))
	for i := range c {
		out[i] = c[i] / p.v[i]
	}
	return out
}

func (p *pointErrors) towards(z []float64) []float64 {
	out := make([]float64, len(z))
	for i := range z {
		out[i] = (p.b*p.vx[i] - p.vxy[i]) * z[i]
	}
	return out
}

// GeneralLine fits a line to points whose errors are shared between points: Vx
// and Vy are the full covariances of x and y (nil: no error), x and y
// independent of each other (ISO/TS 28037:2010, clause 10). It minimises
// rᵀ·(Vy + b²Vx)⁻¹·r with r = y − a − bx, the least squares in both errors.
func GeneralLine(x, y []float64, Vx, Vy [][]float64) (Line, error) {
	n := len(x)
	if len(y) != n || Vx != nil && len(Vx) != n || Vy != nil && len(Vy) != n {
		return Line{}, errors.New("x, y and their covariances differ in number")
	}
	for i := range n {
		if Vx != nil && len(Vx[i]) != n || Vy != nil && len(Vy[i]) != n {
			return Line{}, fmt.Errorf("row %d of a covariance is not %d numbers long: %w", i+1, n, ErrNotPositive)
		}
	}
	return bothLine(x, y, &sharedErrors{n: n, vx: Vx, vy: Vy})
}

// sharedErrors are errors with full covariances.
type sharedErrors struct {
	n      int
	vx, vy [][]float64
	b      float64
	l      cholesky
}

func (s *sharedErrors) at(b float64) (err error) {
	v := make([][]float64, s.n)
	for i := range v {
		v[i] = make([]float64, s.n)
		for j := range v[i] {
			if s.vy != nil {
				v[i][j] += s.vy[i][j]
			}
			if s.vx != nil {
				v[i][j] += b * b * s.vx[i][j]
			}
		}
	}
	s.b = b
	s.l, err = newCholesky(v)
	return err
}

func (s *sharedErrors) solve(c []float64) []float64 { return s.l.solve(c) }

func (s *sharedErrors) towards(z []float64) []float64 {
	out := make([]float64, len(z))
	if s.vx == nil {
		return out
	}
	for i := range out {
		for j, v := range z {
			out[i] += s.b * s.vx[i][j] * v
		}
	}
	return out
}

// bothLine iterates: for the slope so far, V and the x̂ on the line; then the
// line that makes both 1ᵀV⁻¹r and x̂ᵀV⁻¹r vanish, which at the end is the
// gradient of the sum of squares. Everything is taken from the weighted centre.
func bothLine(x, y []float64, e bothErrors) (Line, error) {
	n := len(x)
	if n < 3 {
		return Line{}, fmt.Errorf("%d points: a line with errors needs 3 or more", n)
	}
	X := make([][]float64, n)
	ones := make([]float64, n)
	for i := range x {
		X[i], ones[i] = []float64{1, x[i]}, 1
	}
	start, err := LeastSquares(X, y, nil)
	if err != nil {
		return Line{}, err
	}
	b, change := start.Coef[1], math.Inf(1)
	for range 2000 {
		if err := e.at(b); err != nil {
			return Line{}, err
		}
		weights := e.solve(ones)
		w := total(weights)
		mx, my := dot(weights, x)/w, dot(weights, y)/w
		dx, dy, r := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range x {
			dx[i], dy[i] = x[i]-mx, y[i]-my
			r[i] = dy[i] - b*dx[i]
		}
		z := e.solve(r)
		hat := e.towards(z)
		for i := range hat {
			hat[i] += dx[i] // x on the line, from the centre
		}
		side := e.solve(hat)
		next := dot(side, dy) / dot(side, dx)
		if !finite(next) {
			return Line{}, ErrNoLine
		}
		last := change
		change = math.Abs(next - b)
		if change <= 1e-15*math.Abs(next) || change >= last && change < 1e-12*math.Abs(next) {
			return finishLine(x, next, mx, my, w, e, r, z, weights)
		}
		b = next
	}
	return Line{}, ErrNoLine
}

// finishLine takes standard errors from the points moved onto the line: the
// inverse of [1 x̂]ᵀV⁻¹[1 x̂] (York 2004, eqs. 13a–f).
func finishLine(x []float64, b, mx, my, w float64, e bothErrors, r, z, weights []float64) (Line, error) {
	l := Line{Slope: b, Intercept: my - b*mx, ChiSquare: dot(r, z), DF: len(x) - 2}
	l.X = e.towards(z)
	for i := range x {
		l.X[i] += x[i]
	}
	centre := dot(weights, l.X) / w
	d := make([]float64, len(x))
	for i := range d {
		d[i] = l.X[i] - centre
	}
	v := 1 / dot(d, e.solve(d))
	l.SESlope = math.Sqrt(v)
	l.SEIntercept = math.Sqrt(1/w + centre*centre*v)
	l.Covariance = -centre * v
	return l, nil
}

func dot(a, b []float64) float64 {
	var k Sum
	for i := range a {
		k.AddProduct(a[i], b[i])
	}
	return k.Value()
}

func total(a []float64) float64 {
	var k Sum
	for _, v := range a {
		k.Add(v)
	}
	return k.Value()
}
