package doubt

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
)

// Moment is when a known of a level was read, by any clock.
type Moment struct {
	Level float64
	At    int64
}

// nearlyInOrder is the rank correlation from which on what changes during a sitting is mostly taken for the levels' own.
const nearlyInOrder = 0.8

// InOrder says how nearly the knowns of one or more sittings were read in the order of their levels: by Spearman's rank
// correlation, each sitting about its own middle, so that one that rises and one that falls make up for each other:
//
//	ρ = Σ r·q ÷ √(Σ r²·Σ q²),  r and q a moment's and a level's rank less the sitting's mean rank
//
// 1 rising, −1 falling, no unit (Spearman 1904; middle ranks for ties; from memory). It is told where
// |ρ| ≥ 0.8 and an order by chance would lie so far out in at most 1 of 100 (t = ρ√(f/(1 − ρ²)), f = n − sittings − 1);
// never with fewer than three levels, or with f below 4, as five fall in order by chance in 2 of 120.
func InOrder(sittings [][]Moment) (rho float64, told bool) {
	var both, times, levels, free float64
	different := map[float64]bool{}
	for _, s := range sittings {
		r := ranks(s, func(m Moment) float64 { return float64(m.At) })
		q := ranks(s, func(m Moment) float64 { return m.Level })
		middle := float64(len(s)-1) / 2
		for i, m := range s {
			both += (r[i] - middle) * (q[i] - middle)
			times += (r[i] - middle) * (r[i] - middle)
			levels += (q[i] - middle) * (q[i] - middle)
			different[m.Level] = true
		}
		free += float64(len(s) - 1)
	}
	free--
	if len(different) < 3 || times == 0 || levels == 0 || free < 4 {
		return 0, false
	}
	rho = both / math.Sqrt(times*levels)
	t := math.Inf(1)
	if left := 1 - rho*rho; left > 1e-12 {
		t = math.Abs(rho) * math.Sqrt(free/left)
	}
	return rho, math.Abs(rho) >= nearlyInOrder && 2*num.TCDF(-t, free) < 0.01
}

// ranks are 0, 1 … in the order of a value; those of one value share the middle of theirs.
func ranks(s []Moment, of func(Moment) float64) []float64 {
	order := make([]int, len(s))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(of(s[a]), of(s[b])) })
	out := make([]float64, len(s))
	for i := 0; i < len(order); {
		end := i
		for end < len(order) && of(s[order[end]]) == of(s[order[i]]) {
			end++
		}
		for _, at := range order[i:end] {
			out[at] = float64(i+end-1) / 2
		}
		i = end
	}
	return out
}
