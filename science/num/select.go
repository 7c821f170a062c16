package num

import (
	"math"
	"slices"
	"sync"
)

// QuantileOf is Quantile of a sample in any order, which it leaves as it is: by
// partition (Hoare 1961, Comm. ACM 4, 321) and without sorting all of it.
func QuantileOf(sample []float64, p float64) float64 {
	return QuantilesOf(sample, p)[0]
}

// QuantilesOf are several of them, asked for rising: each partition leaves less to look at for
// the others.
func QuantilesOf(sample []float64, ps ...float64) []float64 {
	room := scratch.Get().(*[]float64)
	defer scratch.Put(room)
	s := append((*room)[:0], sample...)
	*room = s
	out := make([]float64, len(ps))
	if len(s) < 32 || slices.ContainsFunc(s, math.IsNaN) || slices.ContainsFunc(ps, func(p float64) bool { return !(p >= 0 && p <= 1) }) {
		slices.Sort(s)
		for j, p := range ps {
			out[j] = Quantile(s, p)
		}
		return out
	}
	quantilesIn(s, 0, len(s), ps, out)
	return out
}

// scratch is room for a sample while it is looked at.
var scratch = sync.Pool{New: func() any { return new([]float64) }}

// quantilesIn finds those that lie in s[from:to], which holds what belongs there: the middle one, and
// then the others on either side of it.
func quantilesIn(s []float64, from, to int, ps, out []float64) {
	if len(ps) == 0 {
		return
	}
	m := len(ps) / 2
	h := float64(len(s)-1) * ps[m]
	i := int(h)
	lo := nth(s[from:to], i-from)
	if i+1 < to { // the next one stands beside it, for those too that end here
		least := i + 1
		for j := i + 2; j < to; j++ {
			if s[j] < s[least] {
				least = j
			}
		}
		s[i+1], s[least] = s[least], s[i+1]
	}
	if out[m] = lo; h > float64(i) && s[i+1] != lo { // equal ones may both be infinite
		out[m] = lo + (h-float64(i))*(s[i+1]-lo)
	}
	quantilesIn(s, from, i+1, ps[:m], out[:m])
	quantilesIn(s, i, to, ps[m+1:], out[m+1:])
}

// manyValues is from where on a partition is begun by a value near the one that is looked for.
const manyValues = 300

// nth puts the k-th smallest value at k, smaller ones before it, larger ones after. Of many, the
// pivot is found among some of them first, so that it lies close by and mostly on the side where
// less is left to look at (Floyd & Rivest 1975, Comm. ACM 18, 165).
func nth(s []float64, k int) float64 {
	a, b := 0, len(s)-1
	for a < b {
		pivot := 0.0
		if n := float64(b - a + 1); n > manyValues {
			i := float64(k - a + 1)
			some := 0.5 * math.Pow(n, 2.0/3)
			more := 0.5 * math.Sqrt(math.Log(n)*some*(n-some)/n)
			if i < n/2 {
				more = -more
			}
			from := max(a, int(float64(k)-i*some/n+more))
			to := min(b, int(float64(k)+(n-i)*some/n+more))
			from, to = min(from, k), max(to, k)
			pivot = nth(s[from:to+1], k-from)
		} else {
			pivot = middleOf3(s[a], s[(a+b)/2], s[b])
		}
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
