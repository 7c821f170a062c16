package control

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// onsetDraws of the record are enough for the place of a change; of long rows fewer are.
func onsetDraws(r Row) (at []int, lighter []float64) {
	return drawsFor(r, max(8, min(40, 20000/len(r.Checks))))
}

// drawsFor takes so many draws evenly along their means: how far readings have moved is told from there. Many checks say themselves how they scatter, and few of draws
// taken blindly would scatter so: each is taken as often as they make its scatter likely (scattersLikely), and counts by so much
// less (importance sampling): lighter are the logarithms of that.
func drawsFor(r Row, many int) (at []int, lighter []float64) {
	draws := r.Checks[0].Draws
	order := byMean(draws)
	all := len(draws)
	likely := scattersLikely(r)
	total := 0.0
	for _, g := range likely {
		total += g
	}
	many = min(all, many)
	k, sum := 0, likely[order[0]]
	for i := range many {
		for place := (float64(i) + 0.5) / float64(many) * total; sum < place && k+1 < all; {
			k++
			sum += likely[order[k]]
		}
		at, lighter = append(at, order[k]), append(lighter, -math.Log(likely[order[k]]))
	}
	return at, lighter
}

// fewestScatter checks say how they scatter.
const fewestScatter = 12

// scattersLikely are how likely checks make the scatter of each draw: by the squares of what one differs from the next, the largest
// tenth left out, so that a method that moved scatters no more for it; v^(−ν/2) exp(−ν s²/2v) with s² what they show, v what a draw
// says with what answers in steps add, width²/12, and ν half as many degrees of freedom as checks (less than there are, so that no
// draw is taken too seldom). 1 of too few checks.
func scattersLikely(r Row) []float64 {
	n := len(r.Checks)
	out := slices.Repeat([]float64{1}, len(r.Checks[0].Draws))
	if n < fewestScatter {
		return out
	}
	squares, rounding, before := make([]float64, 0, n-1), 0.0, 0.0
	variance := make([]float64, len(out))
	for i, c := range r.Checks {
		u := c.unit()
		seen := u.in(c.Seen)
		if w := seen.Width(); !math.IsInf(w, 1) {
			rounding += w * w / 12 / float64(n)
		}
		for d := range variance {
			sd := c.Draws[d].SD / u.SD
			variance[d] += sd * sd / float64(n)
		}
		z := value(seen)
		if i > 0 {
			squares = append(squares, (z-before)*(z-before)/2)
		}
		before = z
	}
	slices.Sort(squares)
	const trimmed = 0.623 // mean square of a normal variable within its middle nine tenths
	shown := num.Mean(squares[:len(squares)-(len(squares)+9)/10]) / trimmed
	top := math.Inf(-1)
	for d, v := range variance {
		v += rounding
		out[d] = -float64(n) / 4 * (math.Log(v) + shown/v)
		top = math.Max(top, out[d])
	}
	for d := range out {
		out[d] = math.Exp(math.Max(out[d]-top, -8))
	}
	return out
}
