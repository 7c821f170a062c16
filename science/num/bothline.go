package num

import (
	"errors"
	"fmt"
	"math"
)

// Line is y = Intercept + Slope·x.
//
// Standard errors and covariance follow from the stated uncertainties as they
// are (the convention of York 2004 and ISO/TS 28037); where those are right,
// ChiSquare has DF degrees of freedom.
type Line struct {
	Intercept, Slope     float64
	SEIntercept, SESlope float64
	Covariance           float64 // of intercept and slope
	ChiSquare            float64 // smallest weighted sum of squares
	DF                   int
	X                    []float64 // the x that the line and both errors make likeliest
}

// ErrNoLine says that the iteration for a line came to no end.
var ErrNoLine = errors.New("no line found: the points do not determine one within their errors")

// GeneralLine fits a line to points whose errors are shared between points: Vx
// and Vy are the full covariances of x and y (nil: no error), x and y
// independent of each other (ISO/TS 28037:2010, clause 10). It minimises
// rᵀ·(Vy + b²Vx)⁻¹·r with r = y − a − bx, the least squares in both errors; where
// no point shares an error it is the line of York, Evensen, Martínez & Delgado 2004,
// Am. J. Phys. 72, 367.
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
	return bothLine(x, y, &bothErrors{n: n, vx: Vx, vy: Vy})
}

// bothErrors are the errors of x and y as the iteration sees them. For a slope b,
// V = cov(y − b·x).
type bothErrors struct {
	n      int
	vx, vy [][]float64
	b      float64
	l      cholesky
}

// at makes V for this slope.
func (s *bothErrors) at(b float64) (err error) {
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

// solve is V⁻¹·c.
func (s *bothErrors) solve(c []float64) []float64 { return s.l.solve(c) }

// towards is b·Vx·z: it moves x to the line.
func (s *bothErrors) towards(z []float64) []float64 {
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
func bothLine(x, y []float64, e *bothErrors) (Line, error) {
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
		mx, my := Dot(weights, x)/w, Dot(weights, y)/w
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
		next := Dot(side, dy) / Dot(side, dx)
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
func finishLine(x []float64, b, mx, my, w float64, e *bothErrors, r, z, weights []float64) (Line, error) {
	l := Line{Slope: b, Intercept: my - b*mx, ChiSquare: Dot(r, z), DF: len(x) - 2}
	l.X = e.towards(z)
	for i := range x {
		l.X[i] += x[i]
	}
	centre := Dot(weights, l.X) / w
	d := make([]float64, len(x))
	for i := range d {
		d[i] = l.X[i] - centre
	}
	v := 1 / Dot(d, e.solve(d))
	l.SESlope = math.Sqrt(v)
	l.SEIntercept = math.Sqrt(1/w + centre*centre*v)
	l.Covariance = -centre * v
	return l, nil
}

func total(a []float64) float64 {
	var k Sum
	for _, v := range a {
		k.Add(v)
	}
	return k.Value()
}
