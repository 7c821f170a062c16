package doubt

import (
	"cmp"
	"math"
	"slices"
)

// weightedMedian halves the weight; the mean of two where it falls between
// them; not a number of none.
func weightedMedian(v, w []float64) float64 {
	order := make([]int, len(v))
	total := 0.0
	for i := range order {
		order[i] = i
		total += w[i]
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(v[a], v[b]) })
	sum := 0.0
	for k, i := range order {
		if sum += w[i]; sum > total/2*(1+1e-12) {
			return v[i]
		}
		if sum >= total/2*(1-1e-12) {
			return (v[i] + v[order[k+1]]) / 2
		}
	}
	return math.NaN()
}

func orZero(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// median of values, which it leaves as they are; not a number of none.
func median(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return math.NaN()
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// robustLine is the line through weighted medians of slopes and of what is
// left (Theil 1950; Sen, J. Am. Stat. Assoc. 63 (1968) 1379): a quarter of the
// levels may be wrong. Weights make up for scatter that grows with the level: with p a tenth
// of the highest known a slope's is (c − c′)/√((c + p)² + (c′ + p)²), what is left's 1/(c + p).
type robustLine struct{ a, b float64 }

func (l robustLine) at(c float64) float64 { return l.a + l.b*c }

// theil is the robust line through levels; false where it does not rise.
func theil(levels []seenLevel) (robustLine, bool) {
	if len(levels) < 2 {
		return robustLine{}, false
	}
	pad := levels[len(levels)-1].c / 10
	var slope, weight []float64
	for j, b := range levels {
		for _, a := range levels[:j] {
			slope = append(slope, (b.centre-a.centre)/(b.c-a.c))
			weight = append(weight, (b.c-a.c)/math.Hypot(a.c+pad, b.c+pad))
		}
	}
	l := robustLine{b: weightedMedian(slope, weight)}
	var left, w []float64
	for _, v := range levels {
		left, w = append(left, v.centre-l.b*v.c), append(w, 1/(v.c+pad))
	}
	l.a = weightedMedian(left, w)
	return l, l.b > 0
}
