package control

import (
	"math"

	"knownwater/science/num"
)

// Pair is what two tests of one water say of the test itself: a difference, a recovery, or
// what a blank reads, with 95 % limits. Fine: the limits hold what should be.
type Pair struct {
	Value, Low, High float64
	Fine             bool
	Most             float64 // of duplicates: what two differ by at most in 95 of 100
}

// Duplicates are two tests of one sample, x and y with standard deviations of their own; what
// both share (record, known, lot, reader) falls out. Value is y − x; they agree where it is at
// most 1.96 √(sx² + sy²), which 95 of 100 pairs are (ISO 5725-6: the critical difference of two
// results under repeatability).
func Duplicates(x, sx, y, sy float64) Pair {
	u := math.Hypot(sx, sy)
	most := num.PhiInv(0.975) * u
	d := y - x
	return Pair{Value: d, Low: d - most, High: d + most, Fine: math.Abs(d) <= most, Most: most}
}

// Recovery is the share of an addition that was found: (y − x)/added for a sample that reads
// x as it is and y with the addition, which is taken as exact; 95 % limits from the scatter of
// both and from shared, the standard deviation of what a record's errors leave in y − x: they
// fall out where they are the same at x and y, and an error of the slope is not.
func Recovery(x, sx, y, sy, shared, added float64) Pair {
	u := num.PhiInv(0.975) * math.Sqrt(sx*sx+sy*sy+shared*shared) / added
	r := (y - x) / added
	return Pair{Value: r, Low: r - u, High: r + u, Fine: r-u <= 1 && 1 <= r+u}
}
