package num

import (
	"errors"
	"math"
	"testing"
)

// one-variable models with their derivatives
type nistCurve struct {
	name string
	f    func(x float64, b []float64) float64
	df   func(x float64, b, d []float64)
}

var nistCurves = []nistCurve{
	{"Misra1a", misra, misraD}, {"BoxBOD", misra, misraD},
	{"MGH09", func(x float64, b []float64) float64 {
		return b[0] * (x*x + x*b[1]) / (x*x + x*b[2] + b[3])
	}, func(x float64, b, d []float64) {
		up, down := x*x+x*b[1], x*x+x*b[2]+b[3]
		d[0] = up / down
		d[1] = b[0] * x / down
		d[3] = -b[0] * up / (down * down)
		d[2] = d[3] * x
	}},
	{"Rat43", func(x float64, b []float64) float64 {
		return b[0] / math.Pow(1+math.Exp(b[1]-b[2]*x), 1/b[3])
	}, func(x float64, b, d []float64) {
		e := math.Exp(b[1] - b[2]*x)
		y := math.Pow(1+e, -1/b[3])
		d[0] = y
		d[1] = -b[0] * y / b[3] * e / (1 + e)
		d[2] = -x * d[1]
		d[3] = b[0] * y * math.Log1p(e) / (b[3] * b[3])
	}},
	{"Hahn1", func(x float64, b []float64) float64 {
		return (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / (1 + x*(b[4]+x*(b[5]+x*b[6])))
	}, func(x float64, b, d []float64) {
		down := 1 + x*(b[4]+x*(b[5]+x*b[6]))
		y := (b[0] + x*(b[1]+x*(b[2]+x*b[3]))) / down
		d[0], d[1], d[2], d[3] = 1/down, x/down, x*x/down, x*x*x/down
		d[4], d[5], d[6] = -y*x/down, -y*x*x/down, -y*x*x*x/down
	}},
}

func misra(x float64, b []float64) float64 { return -b[0] * math.Expm1(-b[1]*x) }
func misraD(x float64, b, d []float64) {
	d[0] = -math.Expm1(-b[1] * x)
	d[1] = b[0] * x * math.Exp(-b[1]*x)
}

func (c nistCurve) problem(x, y []float64, analytic bool) Nonlinear {
	p := Nonlinear{Y: y, Model: func(b, out []float64) {
		for i := range x {
			out[i] = c.f(x[i], b)
		}
	}}
	if analytic {
		p.Jacobian = func(b []float64, jac [][]float64) {
			d := make([]float64, len(b))
			for i := range x {
				c.df(x[i], b, d)
				for j := range d {
					jac[j][i] = d[j]
				}
			}
		}
	}
	return p
}

func nonlinearAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Nonlinear least squares (`Nonlinear.Fit`), the worse of both certified starts", "parameters", "standard errors", "residual SS, SD")
	for _, analytic := range []bool{true, false} {
		for _, c := range nistCurves {
			s := nist(t, c.name)
			x, y := nistXY(t, c.name)
			note, name := "NIST StRD, analytic derivatives", c.name
			if !analytic {
				note, name = "NIST StRD, numerical derivatives", c.name+", numerical"
			}
			a.set(name, 11, note)
			for start := range 2 {
				var from []float64
				for _, p := range s.Parameters {
					from = append(from, []float64{p.Start1, p.Start2}[start])
				}
				f, err := c.problem(x, y, analytic).Fit(from)
				if err != nil {
					t.Errorf("%s from start %d: %v", c.name, start+1, err)
					continue
				}
				t.Logf("%s start %d: %d steps, offset %.1g", name, start+1, f.Steps, f.Offset)
				for j, p := range s.Parameters {
					a.add("parameters", f.Coef[j], p.Estimate)
					a.add("standard errors", f.SE(j), p.SD)
				}
				a.add("residual SS, SD", f.ResidualSS, s.ResidualSS)
				a.add("residual SS, SD", f.SD, s.ResidualSD)
			}
		}
	}
	return a
}

// A model that is linear must give what LeastSquares gives, with weights and
// with a full covariance.
func TestNonlinearOnLinear(t *testing.T) {
	x := []float64{0, 1, 2, 4, 7, 11}
	y := []float64{0.1, 1.3, 1.7, 4.4, 6.9, 11.5}
	w := []float64{1, 2, 3, 1, 0, 0.5}
	X, V := make([][]float64, 6), make([][]float64, 6)
	for i := range x {
		X[i] = []float64{1, x[i]}
		V[i] = make([]float64, 6)
		for j := range x {
			V[i][j] = 0.3 * math.Pow(0.6, math.Abs(float64(i-j)))
		}
	}
	line := func(b, out []float64) {
		for i := range x {
			out[i] = b[0] + b[1]*x[i]
		}
	}
	lw, err1 := LeastSquares(X, y, w)
	lv, err2 := GLS(X, y, V)
	nw, err3 := Nonlinear{Model: line, Y: y, W: w}.Fit([]float64{5, -3})
	nv, err4 := Nonlinear{Model: line, Y: y, V: V}.Fit([]float64{5, -3})
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		l Fit
		n NonlinearFit
	}{{lw, nw}, {lv, nv}} {
		if c.l.DF != c.n.DF {
			t.Errorf("degrees of freedom %d and %d", c.l.DF, c.n.DF)
		}
		for j := range 2 {
			// numerical derivatives leave an error that is small against the standard error
			if e := math.Abs(c.n.Coef[j]-c.l.Coef[j]) / c.l.SE(j); !(e < 1e-10) {
				t.Errorf("coefficient %g off by %.1g standard errors", c.n.Coef[j], e)
			}
			needDigits(t, "standard error", c.n.SE(j), c.l.SE(j), 9)
		}
		needDigits(t, "residual SS", c.n.ResidualSS, c.l.ANOVA.ResidualSS, 12)
	}
}

func TestNonlinearSaysNo(t *testing.T) {
	x := []float64{0, 1, 2, 3, 4}
	y := []float64{1, 2, 3, 4, 5.1}
	sum := func(b, out []float64) { // b0 and b1 only ever appear as a sum
		for i := range x {
			out[i] = b[0] + b[1] + b[2]*x[i]
		}
	}
	if _, err := (Nonlinear{Model: sum, Y: y}).Fit([]float64{1, 2, 3}); err == nil {
		t.Error("fitted two parameters that only ever appear as a sum")
	}
	nan := func(b, out []float64) { out[2] = math.NaN() }
	if _, err := (Nonlinear{Model: nan, Y: y}).Fit([]float64{1}); err == nil {
		t.Error("started where the model is not a number")
	}
	runaway := func(b, out []float64) { // falls for ever as b grows
		for i := range x {
			out[i] = y[i] + math.Exp(-b[0])
		}
	}
	if f, err := (Nonlinear{Model: runaway, Y: y}).Fit([]float64{1}); err == nil && f.ResidualSS > 1e-25 {
		t.Errorf("a minimum where there is none: %+v", f)
	}
	exact := func(b, out []float64) {
		for i := range x {
			out[i] = b[0] * math.Exp(b[1]*x[i])
		}
	}
	truth := make([]float64, 5)
	exact([]float64{2, 0.3}, truth)
	f, err := Nonlinear{Model: exact, Y: truth}.Fit([]float64{1, 0})
	if err != nil {
		t.Fatal("data without error: ", err)
	}
	needDigits(t, "b0", f.Coef[0], 2, 12)
	needDigits(t, "b1", f.Coef[1], 0.3, 12)
}
