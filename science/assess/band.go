package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater/science/num"
)

// lowerBand is a lower limit at every place that holds at all of them at once.
//
// Continuous errors: of draws [place][draw], median − k·(median − 15.9 % quantile)
// of each place's logarithms, k the 1 − r.tail quantile over the draws of the largest
// drop below the median in that unit over all places. Errors that come in steps (a
// chart's) have no such unit: their band is the quantile that 97.5 % of the draws
// keep above at every place.
func lowerBand(draws [][]float64, r rule) []float64 {
	if r.steps {
		return rankBand(draws)
	}
	n := len(draws[0])
	centre, unit := make([]float64, len(draws)), make([]float64, len(draws))
	drop := make([]float64, n)
	for i, d := range draws {
		centre[i] = quantile(d, 0.5)
		unit[i] = math.Max(centre[i]-quantile(d, 0.159), 1e-9)
		for k, v := range d {
			drop[k] = math.Max(drop[k], (centre[i]-v)/unit[i])
		}
	}
	k := quantile(drop, 1-r.tail)
	for i := range centre {
		centre[i] -= k * unit[i]
	}
	return centre
}

func rankBand(draws [][]float64) []float64 {
	n := len(draws[0])
	rank := make([]float64, n)
	for k := range rank {
		rank[k] = 1
	}
	sorted := make([][]float64, len(draws))
	for i, d := range draws {
		sorted[i] = slices.Sorted(slices.Values(d))
		for k, v := range d { // the share of draws up to it
			up := sort.Search(n, func(j int) bool { return sorted[i][j] > v })
			rank[k] = math.Min(rank[k], float64(up)/float64(n))
		}
	}
	sort.Float64s(rank)
	at := int(num.Quantile(rank, 0.025)*float64(n)) - 1
	out := make([]float64, len(draws))
	for i := range out {
		out[i] = sorted[i][min(max(at, 0), n-1)]
	}
	return out
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
