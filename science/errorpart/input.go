package errorpart

import (
	"math"
	"math/rand/v2"
	"sort"
)

// Shape is the distribution of an input.
type Shape int

// The shapes of JCGM 101 that the bench needs.
const (
	Normal      Shape = iota
	Rectangular       // within ± √3·U
	Triangular        // within ± √6·U
	Student           // scaled t with Degrees; U is the scale, as a mean of few readings gives it
)

// RectangularU and TriangularU are the standard uncertainties of limits ± a.
func RectangularU(a float64) float64 { return a / math.Sqrt(3) }

// TriangularU is for limits ± a with values near the middle more likely.
func TriangularU(a float64) float64 { return a / math.Sqrt(6) }

// Input is one quantity that a result is computed from.
type Input struct {
	Name, Kind string
	Value, U   float64
	Shape      Shape
	Degrees    float64 // behind U; 0 means infinitely many
	// NotBelow, where set, is a bound that nature keeps (a concentration is not
	// below 0): draws stay above it. First-order propagation cannot know it.
	NotBelow *float64
}

// Model turns inputs into results, the same every time.
type Model func(x []float64) []float64

// Propagate is the law of propagation of uncertainty, JCGM 100 section 5: each
// result with one part per input, its sensitivity the derivative of the model.
//
// Derivatives are central differences over ± h with h = U/8 (Value/1e4 where U
// is 0), and over half of it, extrapolated to h → 0: exact for polynomials of
// degree 4, else good to about 1e-9 relative for models as smooth as dilutions.
// Inputs with U = 0 make no part.
func Propagate(inputs []Input, model Model) []Value {
	x := values(inputs)
	at := model(x)
	out := make([]Value, len(at))
	for k, v := range at {
		out[k].Value = v
	}
	for i, in := range inputs {
		if in.U == 0 {
			continue
		}
		for k, s := range derivative(model, x, i, in.U/8) {
			if s != 0 {
				out[k].Parts = append(out[k].Parts, Part{Name: in.Name, Kind: in.Kind, U: in.U, Sensitivity: s, Degrees: in.Degrees})
			}
		}
	}
	for k := range out {
		out[k].Parts = Of(out[k].Parts...)
	}
	return out
}

func derivative(model Model, x []float64, i int, h float64) []float64 {
	slope := func(h float64) []float64 {
		moved := append([]float64(nil), x...)
		moved[i] = x[i] + h
		up := model(moved)
		moved[i] = x[i] - h
		down := model(moved)
		for k := range up {
			up[k] = (up[k] - down[k]) / (2 * h)
		}
		return up
	}
	coarse, fine := slope(h), slope(h/2)
	for k := range fine {
		fine[k] += (fine[k] - coarse[k]) / 3
	}
	return fine
}

func values(inputs []Input) []float64 {
	x := make([]float64, len(inputs))
	for i, in := range inputs {
		x[i] = in.Value
	}
	return x
}

// Draws is the propagation of distributions, JCGM 101: n draws of every
// result, as draws[result][trial], from a source of random numbers that the
// caller seeds. Results drawn together share their inputs.
func Draws(inputs []Input, model Model, n int, r *rand.Rand) [][]float64 {
	x := make([]float64, len(inputs))
	var out [][]float64
	for t := 0; t < n; t++ {
		for i, in := range inputs {
			x[i] = in.draw(r)
		}
		y := model(x)
		if out == nil {
			out = make([][]float64, len(y))
			for k := range out {
				out[k] = make([]float64, n)
			}
		}
		for k, v := range y {
			out[k][t] = v
		}
	}
	return out
}

// mostRedraws keeps a bound far out in a tail from stopping the work.
const mostRedraws = 1000

func (in Input) draw(r *rand.Rand) float64 {
	for range mostRedraws {
		v := in.Value + in.U*in.standard(r)
		if in.NotBelow == nil || v >= *in.NotBelow {
			return v
		}
	}
	return *in.NotBelow
}

// standard is a draw with mean 0 and scale 1.
func (in Input) standard(r *rand.Rand) float64 {
	switch in.Shape {
	case Rectangular:
		return math.Sqrt(3) * (2*r.Float64() - 1)
	case Triangular:
		return math.Sqrt(6) * (r.Float64() - r.Float64())
	case Student:
		if in.Degrees > 0 {
			return r.NormFloat64() / math.Sqrt(chiSquared(in.Degrees, r)/in.Degrees)
		}
	}
	return r.NormFloat64()
}

// chiSquared sums squares; degrees of freedom here are counts of readings.
func chiSquared(degrees float64, r *rand.Rand) float64 {
	sum := 0.0
	for range int(math.Max(1, math.Round(degrees))) {
		z := r.NormFloat64()
		sum += z * z
	}
	return sum
}

// Summary is what draws say about one result. Low and High are the 2.5 % and
// 97.5 % quantiles, ShortLow and ShortHigh the shortest 95 % interval
// (JCGM 101 7.7 and 5.3.4).
type Summary struct {
	Mean, SD            float64
	Low, High           float64
	ShortLow, ShortHigh float64
}

// Summarise sorts a copy of the draws and reads off the intervals.
func Summarise(draws []float64) Summary {
	n := len(draws)
	if n < 100 {
		nan := math.NaN()
		return Summary{nan, nan, nan, nan, nan, nan}
	}
	y := append([]float64(nil), draws...)
	sort.Float64s(y)
	var s Summary
	for i, v := range y { // running mean and sum of squares, stable (Welford)
		d := v - s.Mean
		s.Mean += d / float64(i+1)
		s.SD += d * (v - s.Mean)
	}
	s.SD = math.Sqrt(s.SD / float64(n-1))
	q := int(math.Round(0.95 * float64(n)))
	tail := (n - q) / 2
	s.Low, s.High = y[tail], y[tail+q]
	s.ShortLow, s.ShortHigh = s.Low, s.High
	for i := 0; i+q < n; i++ {
		if y[i+q]-y[i] < s.ShortHigh-s.ShortLow {
			s.ShortLow, s.ShortHigh = y[i], y[i+q]
		}
	}
	return s
}
