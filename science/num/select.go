package num

import (
	"math"
	"slices"
)

// QuantileOf is Quantile of a sample in any order, which it leaves as it is: by
// partition (Hoare 1961, Comm. ACM 4, 321) and without sorting all of it.
func QuantileOf(sample []float64, p float64) float64 {
	s := slices.Clone(sample)
	n := len(s)
	if n < 32 || !(p >= 0 && p <= 1) || slices.ContainsFunc(s, math.IsNaN) {
		slices.Sort(s)
		return Quantile(s, p)
	}
	h := float64(n-1) * p
	i := int(h)
	lo := nth(s, i)
	if i >= n-1 || h == float64(i) {
		return lo
	}
	hi := slices.Min(s[i+1:])
	if lo == hi {
		return lo
	}
	return lo + (h-float64(i))*(hi-lo)
}

// nth puts the k-th smallest value at k, smaller ones before it, larger ones after.
func nth(s []float64, k int) float64 {
	a, b := 0, len(s)-1
	for a < b {
		pivot := middleOf3(s[a], s[(a+b)/2], s[b])
		i, j := a, b
		for i <= j {
			for s[i] < pivot {
				i++
			}
			for s[j] > pivot {
				j--
			}
			if i <= j {
				s[i], s[j] = s[j], s[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			b = j
		case k >= i:
			a = i
		default:
			return s[k]
		}
	}
	return s[k]
}

func middleOf3(a, b, c float64) float64 {
	return math.Max(math.Min(a, b), math.Min(math.Max(a, b), c))
}
