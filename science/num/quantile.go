package num

import "math"

// Quantile is the p-quantile of a rising sample by the straight line between
// order statistics, h = (n−1)·p (type 7 of Hyndman & Fan 1996, Am. Stat. 50,
// 361). NaN for an empty sample or p outside 0 … 1.
func Quantile(sorted []float64, p float64) float64 {
	n := len(sorted)
	if n == 0 || !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	h := float64(n-1) * p
	i := int(h)
	if i >= n-1 {
		return sorted[n-1]
	}
	lo, hi := sorted[i], sorted[i+1]
	if lo == hi || h == float64(i) { // also keeps infinite neighbours from making NaN
		return lo
	}
	return lo + (h-float64(i))*(hi-lo)
}
