package response

import "math"

// strayLight is an absorbance bent by light that does not pass the sample: a
// share s of it lifts the transmittance to (T + s)/(1 + s).
var strayLight = &Shape{
	Name: StrayLight, Caused: true, Light: true, Called: "absorbance bent by stray light", Formula: "b0 − log10((10^(−b1·c) + b2)/(1 + b2))", Params: 3, Positive: 2, Powers: []float64{0, 1, 0},
	Means: []string{"signal at nothing", "absorbance per concentration without stray light", "share of stray light"},
	At: func(p []float64, c float64) float64 {
		return p[0] - math.Log10((math.Pow(10, -p[1]*c)+p[2])/(1+p[2]))
	},
	Slope: func(p []float64, c float64) float64 {
		t := math.Pow(10, -p[1]*c)
		return p[1] * t / (t + p[2])
	},
	Gradient: func(p []float64, c float64, g []float64) {
		t := math.Pow(10, -p[1]*c)
		g[0], g[1] = 1, c*t/(t+p[2])
		g[2] = -(1/(t+p[2]) - 1/(1+p[2])) / math.Ln10
	},
	Starts: startStray,
	Sound:  func(p []float64, _ float64) bool { return p[1] > 0 && p[2] > 0 && p[2] <= mostStray },
}

// mostStray is a share of stray light beyond which something else bends the
// answer; photometers have far less (common practice, no source).
const mostStray = 0.2

// saturating is a reagent that runs short: the answer can rise by b1/b2 at the
// most, and by half of that at c = 1/b2 (common practice, no source).
var saturating = &Shape{
	Name: Saturating, Caused: true, Called: "a saturating curve", Formula: "b0 + b1·c/(1 + b2·c)", Params: 3, Positive: 2, Powers: []float64{0, 1, 1},
	Means: []string{"answer at nothing", "rise near nothing, per concentration", "1 ÷ the concentration at which the rise is half of what it can be"},
	At:    func(p []float64, c float64) float64 { return p[0] + p[1]*c/(1+p[2]*c) },
	Slope: func(p []float64, c float64) float64 { d := 1 + p[2]*c; return p[1] / (d * d) },
	Gradient: func(p []float64, c float64, g []float64) {
		d := 1 + p[2]*c
		g[0], g[1], g[2] = 1, c/d, -p[1]*c*c/(d*d)
	},
	Starts: startSaturating,
	Sound:  func(p []float64, _ float64) bool { return p[2] > 0 },
}

// deadZone is an answer that does not rise before b2, and after a soft bend does
// so along a line (common practice, no source).
var deadZone = &Shape{
	Name: DeadZone, Caused: true, Called: "a dead zone and a line after it", Formula: "b0 + b1·w·ln(1 + e^((c − b2)/w)), w = 0.15·b2", Params: 3, Positive: 2, Powers: []float64{0, 1, -1},
	Means: []string{"answer within the dead zone", "rise beyond it, per concentration", "where the dead zone ends"},
	At: func(p []float64, c float64) float64 {
		w := softness * p[2]
		return p[0] + p[1]*w*softplus((c-p[2])/w)
	},
	Slope: func(p []float64, c float64) float64 { return p[1] * logistic((c-p[2])/(softness*p[2])) },
	Gradient: func(p []float64, c float64, g []float64) {
		w := softness * p[2]
		z := (c - p[2]) / w
		g[0], g[1] = 1, w*softplus(z)
		g[2] = p[1] * (softness*softplus(z) - logistic(z)*c/p[2])
	},
	Starts: startDeadZone,
	Sound:  func(p []float64, top float64) bool { return p[2] > 0 && p[2] < top/2 },
}

// softness is how much of the dead zone its bend takes on either side.
const softness = 0.15

// softplus is ln(1 + e^x) without overflow.
func softplus(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
