package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater/science/num"
)

// lowerBand is a lower limit at every place that holds at all of them at once:
// of draws [place][draw], the truth lies above the band everywhere with 97.5 %.
//
// Continuous errors: median − k·(median − 15.9 % quantile) of each place's
// logarithms, k the 97.5 % quantile over the draws of the largest drop below the
// median in that unit over all places. Errors that come in steps (a chart's) have
// no such unit: their band is the quantile that 97.5 % of the draws keep above at
// every place.
func lowerBand(draws [][]float64, steps bool) []float64 {
	if steps {
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
	k := quantile(drop, 0.975)
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
