package posterior

import (
	"slices"

	"knownwater/science/num"
)

// tails are the quantiles p and 1 − p of draws.
func tails(draws []float64, p float64) (low, high float64) {
	s := slices.Sorted(slices.Values(draws))
	return num.Quantile(s, p), num.Quantile(s, 1-p)
}
