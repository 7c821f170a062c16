package control

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Furthest is how many checks a row is followed from a shift on.
const Furthest = 600

const (
	rowsDrawn = 1000 // of made-up rows: a share of them is known to 0.016
	before    = 10   // checks that have not moved, by which the charts have come to where they usually are
)

// rings are, rising, on which check after a shift made-up rows ring: those of a record that reads as one of its draws does, each draw as
// often, its checks by each reader as often as in the row. A row has been still for so many checks without ringing before it moves, and of one
// that has rung by then nothing is said. All charts count, and what makes them ring beside a shift, too. One that does not ring within Furthest
// checks has Furthest+1. Random numbers are fixed, and the same for every shift.
func (l Limits) rings(ms []model, still int, shift func(row int, m model) float64) (out []int) {
	order := byMean(ms[0].all)
	scales := make([]scale, len(ms))
	for i, m := range ms {
		scales[i] = l.scaleOf(m)
	}
	for row := range rowsDrawn {
		rng := num.Source(29, uint64(row))
		d := order[(2*row+1)*len(order)/(2*rowsDrawn)]
		c := charts{up: headStart * l.Sum, down: headStart * l.Sum}
		rang := false
		n := 0
		for ; n < still+Furthest && !rang; n++ {
			k := readerOf(ms, rng)
			m := ms[k]
			z := m.all[d].Mean + m.all[d].SD*rng.NormFloat64()
			if n >= still {
				z += shift(row, m)
			}
			if m.tiles == nil {
				rang = l.number(&c, z) != ""
			} else {
				s := scales[k]
				i := s.of(z)
				rang = l.step(&c, s.up[i], s.down[i], s.rare[i]) != ""
			}
		}
		switch {
		case rang && n > still:
			out = append(out, n-still)
		case !rang:
			out = append(out, Furthest+1)
		}
	}
	slices.Sort(out)
	return out
}

// byMean are the places of draws along their means.
func byMean(draws []Normal) []int {
	order := make([]int, len(draws))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(draws[a].Mean, draws[b].Mean) })
	return order
}

// readerOf is whose check comes next.
func readerOf(ms []model, rng *rand.Rand) int {
	if len(ms) == 1 {
		return 0
	}
	u := rng.Float64()
	for i, m := range ms {
		if u -= m.weight; u < 0 {
			return i
		}
	}
	return len(ms) - 1
}

// charts are where those of a row stand.
type charts struct{ up, down, average float64 }

// number adds a check that is one value; the rule by which it rings, or none.
func (l Limits) number(c *charts, z float64) Rule {
	c.average = (1-lambda)*c.average + lambda*z
	rung := l.sum(c, score(interval.Exact(z), l.Shift), score(interval.Exact(z), -l.Shift))
	switch {
	case math.Abs(z) > l.Individual:
		return OneCheck
	case rung:
		return RunningSum
	case math.Abs(c.average) > l.Average.Bound():
		return Weighted
	}
	return ""
}

// step adds one that is a step of a scale.
func (l Limits) step(c *charts, up, down float64, rare bool) Rule {
	rung := l.sum(c, up, down)
	switch {
	case rare:
		return OneCheck
	case rung:
		return RunningSum
	}
	return ""
}

func (l Limits) sum(c *charts, up, down float64) (rung bool) {
	c.up, c.down = math.Max(0, c.up+up), math.Max(0, c.down+down)
	return c.up > l.Sum || c.down > l.Sum
}

// scale is what each step of a scale adds to the sums, and whether it is too rare.
type scale struct {
	high, up, down []float64
	rare           []bool
}

func (l Limits) scaleOf(m model) (s scale) {
	for _, t := range m.tiles {
		s.high, s.up, s.down = append(s.high, t.High), append(s.up, score(t, l.Shift)), append(s.down, score(t, -l.Shift))
		s.rare = append(s.rare, m.isRare(t, l.Rare))
	}
	return s
}

// of is the step into which a value falls.
func (s scale) of(z float64) int {
	i, _ := slices.BinarySearch(s.high, z)
	return min(i, len(s.high)-1)
}

// reachedBy is after how many checks a share of rows has rung; infinite: fewer have.
func reachedBy(rang []int, share float64) float64 {
	i := int(math.Ceil(share*float64(len(rang)))) - 1
	if i < 0 || rang[i] > Furthest {
		return math.Inf(1)
	}
	return float64(rang[i])
}

// eitherWay is a shift of a size, upwards in one row and downwards in the next.
func eitherWay(size float64) func(int, model) float64 {
	return func(row int, _ model) float64 { return size * float64(1-2*(row%2)) }
}
