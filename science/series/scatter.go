package series

import (
	"math"
	"slices"
)

// factors are a few, rising, by which readings may scatter more than is said of them: what is so at others is worked out from
// what is so at these.
type factors []float64

const (
	mostFactors  = 5
	mostScatters = 64 // factors that a way keeps
	furthest     = 50 // of how many factors that are equally likely the lowest and the highest count as the next ones
)

// rising are the factors of a spread in order, without its last ends: a polynomial over them would be worse everywhere.
func rising(spread []float64) []float64 {
	out := slices.Sorted(slices.Values(spread))
	n := len(out)
	low, high := out[n/furthest], out[n-1-n/furthest]
	for d, f := range out {
		out[d] = math.Max(low, math.Min(high, f))
	}
	return out
}

// factorsOf lie where polynomials over the logarithms of rising factors are told best (Chebyshev's nodes).
func factorsOf(rising []float64) factors {
	low, high := math.Log(rising[0]), math.Log(rising[len(rising)-1])
	if high-low < 1e-9 {
		return factors{rising[0]}
	}
	out := make(factors, mostFactors)
	for k := range out {
		out[k] = math.Exp((low+high)/2 - (high-low)/2*math.Cos(math.Pi*(float64(k)+0.5)/mostFactors))
	}
	return out
}

// scattered are readings that scatter so many times more.
func scattered(seen []Seen, factor float64) []Seen {
	out := slices.Clone(seen)
	for i := range out {
		out[i].SD *= factor
	}
	return out
}

// at is a polynomial through values at the logarithms of the factors, at another factor (Lagrange).
func (s factors) at(values []float64, factor float64) float64 {
	x, sum := math.Log(factor), 0.0
	for k, v := range values {
		for j, f := range s {
			if j != k {
				v *= (x - math.Log(f)) / math.Log(s[k]/f)
			}
		}
		sum += v
	}
	return sum
}

// nearest is the place of the one nearest to a factor.
func (s factors) nearest(factor float64) int {
	best := 0
	for k, f := range s {
		if math.Abs(math.Log(f/factor)) < math.Abs(math.Log(s[best]/factor)) {
			best = k
		}
	}
	return best
}

// over is the logarithm of the mean likelihood over rising factors, by log-likelihoods at these few, and those that are
// equally likely then.
func (s factors) over(logs, rising []float64) (log float64, scatter []float64) {
	weight := make([]float64, len(rising))
	for d, f := range rising {
		weight[d] = s.at(logs, f)
	}
	log = weigh(weight) - math.Log(float64(len(weight)))
	n := min(mostScatters, len(rising))
	for k := range n {
		scatter = append(scatter, rising[placeAt(weight, (float64(k)+0.5)/float64(n))])
	}
	return log, scatter
}
