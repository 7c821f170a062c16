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
