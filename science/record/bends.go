package record

import (
	"math"
	"math/rand/v2"

	"knownwater/science/num"
	"knownwater/science/response"
)

// freeMonotone joins the level means, made never falling; weights are their doubt. Between them draws bend as
// they may (unevenly).
func freeMonotone(k Knowledge) *Response {
	w := make([]float64, len(k.Level))
	for i := range w {
		w[i] = 1 / k.scatter[i][i]
	}
	r := &Response{Shape: response.FreeOn(k.Level), Params: num.Isotonic(k.Mean, w)}
	if len(k.Draw) == 0 {
		return r
	}
	slope := make([]float64, len(k.Level))
	for i := range slope { // at a knot, half of either side's chord
		a, b := max(i-1, 0), min(i+1, len(slope)-1)
		mid := func(i, j int) float64 { return (r.Params[j] - r.Params[i]) / (k.Level[j] - k.Level[i]) }
		switch {
		case a == i:
			slope[i] = mid(i, b)
		case b == i:
			slope[i] = mid(a, i)
		default:
			slope[i] = (mid(a, i) + mid(i, b)) / 2
		}
	}
	points := make([][]float64, len(k.Draw))
	for d := range points {
		points[d] = make([]float64, len(k.Level))
		for i := range points[d] {
			points[d][i] = k.Draw[d][i] - slope[i]*k.Known[d][i]
		}
	}
	rng, chance := num.Source(bendTask), unevenly(k.Level, r.Params, points[:k.lead()])
	for d, p := range points {
		by := 1.0
		if d < k.Lead { // what is told against a method by these has to hold at a kink, too
			by = kinks
		}
		r.draws = append(r.draws, append(num.Isotonic(p, w), shares(len(p)-1, chance, by, rng)...))
	}
	return r
}

// bendTask is the source of the draws of bends.
const bendTask = 29

// What lies between two knowns nobody saw. In a draw each piece of the free shape bends by a share of its own of the
// curve's bend, gamma with mean 1: of a method that bends evenly, as one that slowly flattens off does, with standard
// deviation 1/3, which is how nearly the cubics follow such methods; else exponential, which has chords in it and the bend of a
// kink half way between two knowns, 3.3 to 4 times the curve's (knowns evenly apart, the rise on one side up to ten times
// the other's). Beforehand that is three times as likely. That it is these two, and so likely, is a convention, held to
// made-up responses in docs/statistics.md.
const (
	even   = 9 // shapes of the gamma distribution
	uneven = 1
	odds   = 3 // of uneven to even
)

// kinks is by how much exponential shares are larger in the draws that lead, so that the bend of a kink is not one in thirty of
// them, which a limit that leaves 2.5 % outside hardly counts, but one in ten.
const kinks = 1.5

// unevenly is the chance that a method bends unevenly, by Bayes' rule. Each inner level that is left out lies so far off the
// chord between its neighbours, y, and the curve through the others b; with s the share that the piece bends by
//
//	y ~ N(s·b, σ²),  σ² the variance of y over the draws,
//
// integrated over s. Levels are taken as independent. One at which the others' curve is straight says nothing.
func unevenly(levels, means []float64, points [][]float64) float64 {
	log := math.Log(odds)
	for j := 1; j < len(levels)-1; j++ {
		t := (levels[j] - levels[j-1]) / (levels[j+1] - levels[j-1])
		off := func(p []float64) float64 { return p[j] - (p[j-1] + t*(p[j+1]-p[j-1])) }
		cut := func(v []float64) []float64 { return append(append([]float64(nil), v[:j]...), v[j+1:]...) }
		offs := make([]float64, len(points))
		for d, p := range points {
			offs[d] = off(p)
		}
		_, sd := num.MeanSD(offs)
		y := off(means)
		b := response.FreeOn(cut(levels)).At(cut(means), levels[j]) - (means[j] - y)
		if b != 0 {
			log += shareLog(y/b, sd/math.Abs(b), uneven) - shareLog(y/b, sd/math.Abs(b), even)
		}
	}
	return 1 / (1 + math.Exp(-log))
}

// shareLog is log ∫ N(s | at, sd²) g(s) ds but for a constant, g the gamma density with mean 1, by the rule of midpoints; a standard
// deviation is no less than a step of it.
func shareLog(at, sd, shape float64) float64 {
	const step, most = 0.05, 12.0
	sd = max(sd, step)
	sum, top := 0.0, math.Inf(-1)
	for s := step / 2; s < most; s += step {
		z := (s - at) / sd
		l := shape*math.Log(shape) + (shape-1)*math.Log(s) - shape*s - z*z/2
		if l > top {
			sum, top = sum*math.Exp(top-l), l
		}
		sum += math.Exp(l - top)
	}
	norm, _ := math.Lgamma(shape)
	return top + math.Log(sum) - norm
}

// shares are drawn, one for each piece: a gamma with a whole shape is a sum of exponentials. by is the mean of uneven ones.
func shares(n int, chance, by float64, rng *rand.Rand) []float64 {
	shape := uneven
	if !(rng.Float64() < chance) {
		shape, by = even, 1
	}
	out := make([]float64, n)
	for i := range out {
		for range shape {
			out[i] += by * rng.ExpFloat64() / float64(shape)
		}
	}
	return out
}
