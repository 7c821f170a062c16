package history

import (
	"math"

	"knownwater/science/num"
)

// departs is a water's variance about its level, by draw.
type departs []float64

// in is the variance in a draw.
func (d departs) in(draw int) float64 {
	if len(d) == 0 { // it stays where it is
		return 0
	}
	return d[draw]
}

// Sizes that are tried, as standard deviations in units of what one reading scatters.
const (
	sizes            = 30
	smallest, widest = 0.02, 10.0
)

// wander is how far a water departs from its level for a while, as a variance w by draw. A departure is
// kept for series.Memory, so that a share of it, 1 − kept, shows within a span, and kept between spans.
// Each size counts by the likelihood of what scatters within spans (within), times that of the spans'
// levels, which may have changed once or twice (regimes), times 1/(1 + size): the weight falls off
// slowly, because too few readings to see a wandering are no sign that there is none.
func wander(spans []*span) departs {
	told := readable(spans)
	if told == nil {
		return nil
	}
	return wandering(told, newWithin(told))
}

// readable are the spans that say something of it.
func readable(spans []*span) (told []*span) {
	for _, s := range spans {
		if s.whole() && s.steady.degrees >= 2 && !math.IsNaN(s.steady.level) {
			told = append(told, s)
		}
	}
	return told
}

// wandering puts what is seen within spans and between their levels together.
func wandering(told []*span, inside within) departs {
	scale := 0.0
	for _, s := range told {
		scale += math.Sqrt(s.steady.variance*float64(len(s.points))) / float64(len(told))
	}
	among := windows(told)
	var w, weight [sizes]float64
	top := math.Inf(-1)
	for k := range w {
		size := smallest * math.Pow(widest/smallest, float64(k)/(sizes-1))
		w[k] = size * scale * size * scale
		weight[k] = math.Log(size/(1+size)) + inside.logLikelihood(w[k])
		for _, r := range among {
			weight[k] += r.logLikelihood(w[k])
		}
		top = math.Max(top, weight[k])
	}
	total := 0.0
	for k := range weight {
		weight[k] = math.Exp(weight[k] - top)
		total += weight[k]
	}
	step := math.Pow(widest/smallest, 2.0/(sizes-1)) // from one variance to the next
	out := make(departs, draws)
	for i, place := range num.Source(37).Perm(draws) {
		left, k := (float64(place)+0.5)/draws*total, 0
		for ; k < sizes-1 && left > weight[k]; k++ {
			left -= weight[k]
		}
		out[i] = w[k] * math.Pow(step, math.Min(1, left/weight[k])-0.5)
	}
	return out
}

// within is by how much readings scatter about the level of their span beyond what their methods
// would: the mean square to that is (1 + weight·w)·χ²/ν, with ν half the degrees of freedom, as the half of
// the spans that scatters most is left out: the water may have been on its way there. Less than methods
// alone would show is no sign of anything: steps of a chart hide scatter.
type within struct{ ratio, weight, df float64 }

func newWithin(told []*span) (in within) {
	ratios := make([]float64, len(told))
	for i, s := range told {
		n := float64(len(s.points))
		ratios[i] = s.steady.misfit / float64(s.steady.degrees)
		in.df += float64(s.steady.degrees) / 2
		in.weight += (1 - s.kept) * s.more / (n - 1) / s.steady.variance / float64(len(told))
	}
	seen, expected := lowest(ratios), 0.0
	rng := num.Source(38, uint64(len(told)))
	for r := range simulated {
		for i, s := range told {
			ratios[i] = 0
			for range s.steady.degrees {
				z := rng.NormFloat64() * s.steady.spread[r%draws]
				ratios[i] += z * z / float64(s.steady.degrees)
			}
		}
		expected += lowest(ratios) / simulated
	}
	in.ratio, in.df = math.Max(1, seen/expected), math.Max(2, in.df)
	return in
}

func (in within) logLikelihood(w float64) float64 {
	e := 1 + in.weight*w
	return -in.df / 2 * (math.Log(e) + in.ratio/e)
}
