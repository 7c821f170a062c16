package control

import (
	"math"

	"knownwater/science/num"
)

// SideBySide is how many vials of one known each of two lots needs, tested side by side, so
// that a lot whose readings are ratio times the other's is told from it at 5 % with a chance of
// power: the smallest n with
//
//	n ≥ 2 (z.975 + z.power)² (cv / log ratio)²
//
// for readings whose scatter is cv of their mean, in logarithms, known well (two means
// compared). Record errors and the known's own are the same for both lots
// and fall out. 0 where nothing can be planned: no scatter, no difference.
func SideBySide(cv, ratio, power float64) int {
	l := math.Abs(math.Log(ratio))
	if !(cv > 0) || !(l > 0) || math.IsInf(l, 0) || !(power > 0 && power < 1) {
		return 0
	}
	z := (num.PhiInv(0.975) + num.PhiInv(power)) * cv / l
	n := math.Ceil(2 * z * z)
	if !(n < 1e6) {
		return 0
	}
	return max(2, int(n))
}

// Now is by how much the checks of a row read otherwise from its first on: the middle of the
// shift in standard deviations of one check, and its 95 %, every shift within 8 of about
// where they lie equally likely beforehand, over the draws.
func Now(r Row) (mid, low, high float64) {
	const (
		step   = 0.05
		coarse = 8 // steps, to find where there is anything at all
		many   = 120
	)
	about := 0.0
	wide := make([]float64, len(r.Checks))
	for i, c := range r.Checks {
		u := c.unit()
		wide[i] = u.SD
		about += value(u.in(c.Seen)) / float64(len(r.Checks))
	}
	about = math.Round(about)
	draws, lighter := drawsFor(r, many)
	likely := func(k int) float64 {
		all := math.Inf(-1)
		for i, d := range draws {
			sum := lighter[i]
			for i, c := range r.Checks {
				sum += Normal{c.Draws[d].Mean + (about+float64(k)*step)*wide[i], c.Draws[d].SD}.logChance(c.Seen)
			}
			all = logSum(all, sum)
		}
		return all
	}
	top := math.Inf(-1)
	var found []float64
	for k := -160; k <= 160; k += coarse {
		found = append(found, likely(k))
		top = math.Max(top, found[len(found)-1])
	}
	first, last := 160, -160
	for i, v := range found {
		if v > top-30 {
			first, last = min(first, coarse*(i-1)-160), coarse*(i+1)-160
		}
	}
	weights := make([]float64, 0, last-first+1)
	for k := first; k <= last; k++ {
		weights = append(weights, likely(k))
		top = math.Max(top, weights[len(weights)-1])
	}
	total := 0.0
	for i := range weights {
		weights[i] = math.Exp(weights[i] - top)
		total += weights[i]
	}
	at := func(share float64) float64 {
		sum := 0.0
		for i, w := range weights {
			if sum += w; sum >= share*total {
				return about + float64(first+i)*step
			}
		}
		return math.NaN()
	}
	return at(0.5), at(0.025), at(0.975)
}
