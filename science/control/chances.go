package control

import (
	"slices"

	"knownwater/science/interval"
)

// chances are the logarithms of how likely checks are in one draw of the record, by check and size of a shift
// from −far to far. Checks that saw the same are worked out once.
type chances struct {
	far float64
	of  [][]parabola
}

// parabola is through the chances of three neighbouring sizes, by how many sizes a shift is further than the middle one.
type parabola [3]float64

// parabolas are those through each size and its two neighbours; the first's and the last's are their neighbours'.
func parabolas(p []float64) []parabola {
	out := make([]parabola, len(p))
	for k := 1; k+1 < len(p); k++ {
		out[k] = parabola{p[k], (p[k+1] - p[k-1]) / 2, (p[k+1]+p[k-1])/2 - p[k]}
	}
	first, last := out[1], out[len(p)-2]
	out[0] = parabola{p[0], first[1] - 2*first[2], first[2]}
	out[len(p)-1] = parabola{p[len(p)-1], last[1] + 2*last[2], last[2]}
	return out
}

// chances are those of each draw that the place of a change is told from.
func (r Row) chances(far float64) (out []chances) {
	wide := make([]float64, len(r.Checks))
	for i, c := range r.Checks {
		wide[i] = c.unit().SD
	}
	type like struct {
		seen  interval.Interval
		draws *Normal
	}
	draws, lighter := onsetDraws(r)
	for k, d := range draws {
		known := map[like][]parabola{}
		c := chances{far: far, of: make([][]parabola, len(r.Checks))}
		for i, check := range r.Checks {
			key := like{check.Seen, &check.Draws[0]}
			if known[key] == nil {
				p := make([]float64, 2*halfSizes+1)
				for j := range p {
					s := far * float64(j-halfSizes) / halfSizes
					p[j] = Normal{check.Draws[d].Mean + s*wide[i], check.Draws[d].SD}.logChance(check.Seen)
				}
				known[key] = parabolas(p)
			}
			c.of[i] = known[key]
		}
		c.of[0] = slices.Clone(c.of[0]) // every chance has the first check in it once
		for j := range c.of[0] {
			c.of[0][j][0] += lighter[k]
		}
		out = append(out, c)
	}
	return out
}

// still is the chance of a check that has not moved, unmoved that of them all.
func (c chances) still(i int) float64 { return c.of[i][halfSizes][0] }

func (c chances) unmoved() (sum float64) {
	for i := range c.of {
		sum += c.still(i)
	}
	return sum
}

// place is where a shift lies among the sizes.
func (c chances) place(shift float64) float64 { return (shift/c.far + 1) * halfSizes }

// at is the chance of a check that is moved by a shift of this place, by the parabola through the three nearest sizes: of
// one exact value it is that parabola.
func (c chances) at(i int, place float64) float64 {
	k := int(place + 0.5)
	t, p := place-float64(k), &c.of[i][k]
	return p[0] + t*(p[1]+t*p[2])
}
