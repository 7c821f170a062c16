package curve

import (
	"math"

	"knownwater/science/record"
)

// Shape is how the signal follows the concentration c.
type Shape string

// The shapes, in the words of package record where it has them.
const (
	Line       Shape = record.Line       // b0 + b1·c
	Quadratic  Shape = "quadratic"       // b0 + b1·c + b2·c²
	Cubic      Shape = "cubic"           // b0 + b1·c + b2·c² + b3·c³
	Saturating Shape = record.Saturating // b0 + b1·c/(1 + b2·c)
	StrayLight Shape = record.StrayLight // b0 − log10((10^(−b1·c) + b2)/(1 + b2))
	DeadZone   Shape = record.DeadZone   // b0 + b1·w·ln(1 + e^((c − b2)/w)), w = 0.15·b2
)

// form is one shape as a function of its coefficients.
type form struct {
	shape   Shape
	formula string
	params  int
	linear  bool // in its coefficients
	at      func(p []float64, c float64) float64
	slope   func(p []float64, c float64) float64      // ∂/∂c
	grad    func(p []float64, c float64, g []float64) // ∂/∂p
	starts  func(quadratic []float64, top, highest float64) [][]float64
	sound   func(p []float64, top float64) bool // coefficients that mean something
}

// forms in the order in which one is preferred to those after it. Bent signals
// mostly have a cause that is known: stray light s in the instrument
// (transmittance = (T + s)/(1 + s)), a reagent that runs short (saturating);
// polynomials stand for what has none. Saturating and stray light pass smoothly
// through the line at b2 = 0, so that a curve that is hardly bent has a
// covariance that can be trusted.
var forms = []*form{
	polynomial(Line, "b0 + b1·c", 1),
	{
		shape: StrayLight, formula: "b0 − log10((10^(−b1·c) + b2)/(1 + b2))", params: 3,
		at: func(p []float64, c float64) float64 {
			return p[0] - math.Log10((math.Pow(10, -p[1]*c)+p[2])/(1+p[2]))
		},
		slope: func(p []float64, c float64) float64 {
			t := math.Pow(10, -p[1]*c)
			return p[1] * t / (t + p[2])
		},
		grad: func(p []float64, c float64, g []float64) {
			t := math.Pow(10, -p[1]*c)
			g[0], g[1] = 1, c*t/(t+p[2])
			g[2] = -(1/(t+p[2]) - 1/(1+p[2])) / math.Ln10
		},
		starts: startStray,
		sound:  func(p []float64, _ float64) bool { return p[1] > 0 && p[2] > 0 && p[2] <= mostStray },
	},
	{
		shape: Saturating, formula: "b0 + b1·c/(1 + b2·c)", params: 3,
		at:    func(p []float64, c float64) float64 { return p[0] + p[1]*c/(1+p[2]*c) },
		slope: func(p []float64, c float64) float64 { d := 1 + p[2]*c; return p[1] / (d * d) },
		grad: func(p []float64, c float64, g []float64) {
			d := 1 + p[2]*c
			g[0], g[1], g[2] = 1, c/d, -p[1]*c*c/(d*d)
		},
		starts: startSaturating,
		sound:  func(p []float64, top float64) bool { return p[2] > 0 },
	},
	polynomial(Quadratic, "b0 + b1·c + b2·c²", 2),
	{
		shape: DeadZone, formula: "b0 + b1·w·ln(1 + e^((c − b2)/w)), w = 0.15·b2", params: 3,
		at: func(p []float64, c float64) float64 {
			w := softness * p[2]
			return p[0] + p[1]*w*softplus((c-p[2])/w)
		},
		slope: func(p []float64, c float64) float64 { return p[1] * logistic((c-p[2])/(softness*p[2])) },
		grad: func(p []float64, c float64, g []float64) {
			w := softness * p[2]
			z := (c - p[2]) / w
			g[0], g[1] = 1, w*softplus(z)
			g[2] = p[1] * (softness*softplus(z) - logistic(z)*c/p[2])
		},
		starts: startDeadZone,
		sound:  func(p []float64, top float64) bool { return p[2] > 0 && p[2] < top/2 },
	},
	polynomial(Cubic, "b0 + b1·c + b2·c² + b3·c³", 3),
}

func polynomial(s Shape, formula string, degree int) *form {
	return &form{
		shape: s, formula: formula, params: degree + 1, linear: true,
		at: func(p []float64, c float64) float64 {
			y := 0.0
			for j := len(p) - 1; j >= 0; j-- {
				y = y*c + p[j]
			}
			return y
		},
		slope: func(p []float64, c float64) float64 {
			y := 0.0
			for j := len(p) - 1; j >= 1; j-- {
				y = y*c + float64(j)*p[j]
			}
			return y
		},
		grad: func(_ []float64, c float64, g []float64) {
			g[0] = 1
			for j := 1; j < len(g); j++ {
				g[j] = g[j-1] * c
			}
		},
		sound: func([]float64, float64) bool { return true },
	}
}

func formOf(s Shape) *form {
	for _, f := range forms {
		if f.shape == s {
			return f
		}
	}
	return nil
}

// mostStray is a share of stray light beyond which something else bends the
// curve; photometers have far less (common practice, no source).
const mostStray = 0.2

// softness is how much of the dead zone its bend takes on either side, as in
// package record: common practice, no source.
const softness = 0.15

func softplus(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// The starts compare the expansion of a shape at 0 with a quadratic q fitted
// before, then try what the highest signal says.

// b0 + b1·c − b1·b2·c² + …
func startSaturating(q []float64, top, _ float64) [][]float64 {
	bend := 1 / top
	out := [][]float64{{q[0], q[1] + 2*math.Abs(q[2])*top, bend}}
	if q[1] != 0 {
		if b := -q[2] / q[1]; b > -0.5/top {
			out = append([][]float64{{q[0], q[1], b}}, out...)
		}
	}
	return out
}

// b0 + e/(1 + s)·c − ½·e²·ln 10·s/(1 + s)²·c² + …; the ceiling is b0 − log10(s/(1 + s)).
func startStray(q []float64, top, highest float64) [][]float64 {
	var out [][]float64
	if q[1] > 0 {
		s := -2 * q[2] / (q[1] * q[1] * math.Ln10)
		s = math.Min(math.Max(s, 1e-4), 0.2)
		out = append(out, []float64{q[0], q[1] * (1 + s), s})
	}
	t := math.Pow(10, -(highest - q[0]))
	return append(out, []float64{q[0], math.Max(q[1], (highest-q[0])/top) * 1.2, 0.5 * t})
}

func startDeadZone(q []float64, top, highest float64) [][]float64 {
	var out [][]float64
	for _, share := range []float64{0.1, 0.25} {
		out = append(out, []float64{q[0], (highest - q[0]) / (top * (1 - share)), top * share})
	}
	return out
}
