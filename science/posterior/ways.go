package posterior

import (
	"math"
	"slices"
)

// Effects may go along with a power of a known's concentration c: be the same everywhere, in proportion to c, or between. powers are those of people, sessions
// and lots, vialPowers those of vials, which have crossings between.
var (
	powers     = []float64{0, 0.25, 0.5, 0.75, 1}
	vialPowers = []float64{0, 0.5, 1}
)

// crossings are where x lies among the levels above nothing, from the first to the last, for vials that differ by √(x² + c²), by as much everywhere far below x and in proportion
// far above, as those do that are neither quite clean nor filled quite alike: while powers alone were tried, of made-up ones whose standard deviation was √(0.5² + (0.1·c)²)
// the upper limit of the spread at the top missed in 39 of 100 and "not fit" was wrong in 18 at the border. Not of people: what all of them may read off is not told apart from a
// response that bends so.
var crossings = [...]float64{0.25, 0.5, 0.75}

// ways are those of effects of which some groups tell, by way and group, on the scale of the readings, and the scatter's own.
func (l *layout) ways(of memberAverages, nested bool) (all [][]float64) {
	raised, crossing := powers, []func(c float64) float64(nil)
	if nested {
		raised, crossing = vialPowers, l.crossing()
	}
	var shapes []func(c float64) float64
	for _, power := range raised {
		shapes = append(shapes, func(c float64) float64 { return math.Pow(c, power) })
	}
	shapes = append(shapes, crossing...)
	for _, shape := range shapes {
		all = append(all, l.along(shape, of, nested))
	}
	return append(all, nil)
}

// crossing are √(x² + c²).
func (l *layout) crossing() (shapes []func(c float64) float64) {
	var levels []float64
	for _, c := range l.Level {
		if c > 0 {
			levels = append(levels, c)
		}
	}
	slices.Sort(levels)
	if levels = slices.Compact(levels); len(levels) < 2 {
		return nil
	}
	for _, q := range crossings {
		at := q * float64(len(levels)-1)
		i := int(at)
		x := levels[i] * math.Pow(levels[i+1]/levels[i], at-float64(i))
		shapes = append(shapes, func(c float64) float64 { return math.Hypot(x, c) })
	}
	return shapes
}

// along is a shape of the true concentration on the scale of the readings, by group: as large as the spread in the geometric mean of the groups that
// tell of it, in which τ of a few people has its prior; of vials, which are many, as what they differ by where that is more: a prior of τ that falls off from the spread on held
// those to less that differ by many times as much (by 7 %, at the top 28 times: upper limits missed in 11 of 100 trials, so in 4).
func (l *layout) along(shape func(c float64) float64, of memberAverages, nested bool) []float64 {
	h := make([]float64, l.Groups)
	log, n := 0.0, 0.0
	for g := range h {
		h[g] = shape(math.Max(0, l.Level[g]))
	}
	for _, t := range of {
		if !(h[t.group] > 0) {
			continue
		}
		size := t.within / (t.n - t.members)
		if nested {
			square, readings := t.betweenMembers()
			size = math.Max(size, square/(t.members-1)/readings)
		}
		log += 0.5*math.Log(size) - math.Log(h[t.group])
		n++
	}
	by := math.Exp(log / n)
	for g := range h {
		h[g] *= by
	}
	return h
}
