package record

import "math"

// form is a family of monotone responses: how a method's mean reading follows
// the true concentration.
type form struct {
	name   string
	params int
	eval   func(p []float64, c float64) float64
	start  func(c, y []float64) []float64
	signal bool // only for kinds that read a light signal
}

// The names of the shapes, in rising order of freedom.
const (
	Line       = "line"
	Saturating = "saturating"
	DeadZone   = "dead zone"
	StrayLight = "stray light"
	Free       = "free monotone"
)

// forms, in the order in which they are tried. Positive parameters are carried
// as logarithms. Sources: a saturating reagent a + b·c/(1 + c/K) and a dead
// zone that ends softly at c0 are common practice, no source; stray light s
// bends an absorbance to a − log10((10^(−e·c) + s)/(1 + s)), from
// transmittance = (T + s)/(1 + s).
var forms = []form{
	{name: Line, params: 2, start: startLine,
		eval: func(p []float64, c float64) float64 { return p[0] + p[1]*c }},
	{name: Saturating, params: 3, start: startSaturating,
		eval: func(p []float64, c float64) float64 { return p[0] + p[1]*c/(1+c*math.Exp(-p[2])) }},
	{name: DeadZone, params: 3, start: startDeadZone, eval: evalDeadZone},
	{name: StrayLight, params: 3, start: startStray, signal: true,
		eval: func(p []float64, c float64) float64 {
			s := math.Exp(p[2])
			return p[0] - math.Log10((math.Pow(10, -p[1]*c)+s)/(1+s))
		}},
}

// softness is how much of c0 the bend of the dead zone takes on either side.
const softness = 0.15

func evalDeadZone(p []float64, c float64) float64 {
	c0 := math.Exp(p[2])
	w := softness * c0
	return p[0] + p[1]*w*softplus((c-c0)/w)
}

// softplus is ln(1 + e^x) without overflow.
func softplus(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}

// startLine joins the two ends.
func startLine(c, y []float64) []float64 {
	last := len(c) - 1
	b := (y[last] - y[0]) / (c[last] - c[0])
	return []float64{y[0] - b*c[0], b}
}

// startSaturating takes the first slope from the lower half and K from where
// the top falls short of it.
func startSaturating(c, y []float64) []float64 {
	last, half := len(c)-1, max(1, len(c)/2)
	b := (y[half] - y[0]) / (c[half] - c[0])
	whole := (y[last] - y[0]) / (c[last] - c[0])
	k := 10 * c[last]
	if b > whole && whole > 0 {
		k = c[last] * whole / (b - whole)
	}
	return []float64{y[0] - b*c[0], b, math.Log(k)}
}

// startDeadZone takes the slope of the upper half back to the first reading.
func startDeadZone(c, y []float64) []float64 {
	last, half := len(c)-1, len(c)/2
	b := (y[last] - y[half]) / (c[last] - c[half])
	c0 := c[last] / 10
	if b > 0 {
		if meets := c[last] - (y[last]-y[0])/b; meets > c0/10 && meets < c[last]/2 {
			c0 = meets
		}
	}
	return []float64{y[0], b, math.Log(c0)}
}

func startStray(c, y []float64) []float64 {
	half := max(1, len(c)/2)
	e := (y[half] - y[0]) / (c[half] - c[0])
	return []float64{y[0] - e*c[0], e, math.Log(0.01)}
}
