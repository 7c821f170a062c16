package assess

import (
	"math"
	"slices"
)

// lowerBand is a lower limit at every place that holds at all of them at once.
//
// Continuous errors: median − k·(median − 15.9 % quantile)
// of each place's logarithms, k the 1 − r.tail quantile over the draws of the largest
// drop below the median in that unit over all places. Errors that come in steps (a
// chart's) have no such unit: their band is the quantile that 97.5 % of the draws
// keep above at every place.
func lowerBand(places []sample, r rule) []float64 {
	if r.steps {
		return rankBand(places)
	}
	drop := slices.Clone(places[0].drops)
	for _, p := range places[1:] {
		for k, v := range p.drops {
			drop[k] = max(drop[k], v)
		}
	}
	k := quantile(drop, 1-r.tail)
	out := make([]float64, len(places))
	for i, p := range places {
		out[i] = p.centre - k*p.unit
	}
	return out
}

func rankBand(places []sample) []float64 {
	n := len(places[0].rank)
	rank := slices.Clone(places[0].rank)
	for _, p := range places[1:] {
		for k, share := range p.rank {
			rank[k] = math.Min(rank[k], share)
		}
	}
	at := int(quantile(rank, 0.025)*float64(n)) - 1
	out := make([]float64, len(places))
	for i, p := range places {
		out[i] = logOr(p.steps[min(max(at, 0), n-1)], -endless)
	}
	return out
}

// ranked are draws rising, and of each the share of draws up to it. Many are alike.
func ranked(draws []float64) (sorted, rank []float64) {
	sorted = slices.Sorted(slices.Values(draws))
	rank = make([]float64, len(draws))
	var values, upTo []float64
	for i, v := range sorted {
		if i+1 == len(sorted) || sorted[i+1] != v {
			values, upTo = append(values, v), append(upTo, float64(i+1)/float64(len(sorted)))
		}
	}
	for k, v := range draws {
		at, _ := slices.BinarySearch(values, v)
		rank[k] = upTo[at]
	}
	return sorted, rank
}

// rule is how "not fit" is told of a method.
type rule struct {
	steps bool    // its errors come in steps
	tail  float64 // the share of draws that may fall below the lower band
}

// rule, with so many more tests at every level, on average. With many readings the tail is what "not
// fit" is wrong in at the border. With few the prior leaves the spread wider than it
// mostly is, and the band lower: on made-up trials (docs/accuracy.md) "not fit" stays
// wrong in less than 5 % of every design with
//
//	tail = 0.3/n, between 0.025 and 0.075
//
// n the average number of readings a level; 0.025 where a level's vials cannot be told
// from its repeats.
func (st *study) rule(more float64) rule {
	n := 0.0
	for i := range st.levels {
		n += (float64(st.groups[st.groupAt(i)].n) + more) / float64(len(st.levels))
	}
	r := rule{st.inSteps(), math.Min(math.Max(0.3/n, 0.025), 0.075)}
	if slices.Contains(st.data.OneVial, true) {
		r.tail = 0.025
	}
	return r
}
