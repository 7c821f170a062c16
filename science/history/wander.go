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

// wander is how a water departs from its level for a while, as a variance w by draw, found within
// spans, where a change hardly shows: by how much readings there scatter beyond what their methods
// would, the half of the spans that scatters most left out. What is seen, to what methods alone would
// show, is (1 + weight·w)·χ²/ν, with ν as simulated logs of a still water scatter; each draw takes
// its own χ² (a fiducial distribution, cut at no wandering; R. A. Fisher 1935), because too few readings to
// see a wandering are no sign that there is none. A departure is kept for series.Memory, so that a
// share of it, 1 − kept, shows within a span.
func wander(spans []*span) departs {
	var told []*span
	var ratios []float64
	weight, degrees := 0.0, 0
	for _, s := range spans {
		if !s.whole() || s.steady.degrees < 2 || math.IsNaN(s.steady.level) {
			continue
		}
		told = append(told, s)
		n := float64(len(s.points))
		own := s.steady.variance * n / s.more
		ratios = append(ratios, s.steady.misfit/float64(s.steady.degrees))
		degrees += s.steady.degrees
		weight += (1 - s.kept) * n / (n - 1) / own
	}
	if told == nil || !(weight > 0) {
		return nil
	}
	weight /= float64(len(told))
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
	df := math.Max(2, float64(degrees)/2)
	out := make(departs, draws)
	for i, k := range num.Source(37).Perm(draws) {
		chi := num.ChiSquareQuantile((float64(k)+0.5)/draws, df) / df
		out[i] = math.Max(0, (seen/expected/chi-1)/weight)
	}
	return out
}
