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

// Shortest is the shortest interval that holds the share p of a rising sample:
// of all stretches of p·n neighbours the narrowest, as JCGM 101:2008, 7.7.
func Shortest(sorted []float64, p float64) (low, high float64) {
	n := len(sorted)
	q := int(p*float64(n) + 0.5)
	if n == 0 || !(p > 0 && p < 1) || q >= n {
		return math.NaN(), math.NaN()
	}
	best := 0
	for r := range n - q {
		if sorted[r+q]-sorted[r] < sorted[best+q]-sorted[best] {
			best = r
		}
	}
	return sorted[best], sorted[best+q]
}
