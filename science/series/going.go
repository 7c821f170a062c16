package series

import (
	"math"
	"slices"
)

// Going is how a level may go: as a walk whose variance grows by PerDay in each day; or, with Departs above 0, about a
// mean to which it comes back with Memory (Return).
type Going struct{ PerDay, Departs, Memory float64 }

// Goings are ways in which a level may go, with weights that sum to 1.
type Goings struct {
	Of     []Going
	Weight []float64
	// Scatter is by way how many times more readings may scatter than is said of them, rising and equally likely; nil: just so much.
	Scatter [][]float64
	near    factors
}

func (g Going) fit(days []float64, seen []Seen, start []Site) ([]Site, float64) {
	if g.Departs > 0 {
		return Return{days, g.Departs, g.Memory}.Fit(seen, start)
	}
	return Walk{days, g.PerDay}.Fit(seen, start)
}

// Sizes that are tried, in units of what one reading scatters: of a walk's weekly step, and of a departure.
var (
	walked   = []float64{0.06, 0.12, 0.25, 0.5, 1, 2, 4}
	departed = []float64{0.12, 0.25, 0.5, 1, 2, 4, 8}
)

// GoingsOf weighs how a level goes by what readings say: the likelihood of each times 1/(1 + size/4), so that doublings
// of a size count nearly alike, and that it stays where it is as one of them. A weight in proportion to the size, which is
// that of Wandering below one scatter, would take too few readings to see that a water keeps still for a sign that it
// wanders. How much readings scatter is no surer than spread, factors that are equally likely beforehand: a likelihood is the mean over them. Taken for
// certain, a record whose scatter came out too small ruled out that a water stays. Of a long row its last 1,200 readings count.
func GoingsOf(days []float64, seen []Seen, spread []float64) Goings {
	return weighed(days, seen, spread, func(scale float64, add func(way Going, weight float64)) {
		for _, size := range slices.Backward(walked) {
			add(Going{PerDay: size * scale * size * scale / week}, 1/(1+size/4))
		}
		add(Going{}, 1)
		for _, size := range departed {
			add(Going{Departs: size * scale, Memory: Memory}, 1/(1+size/4))
		}
	})
}

// weighed are the ways that list adds, in scales of what one reading scatters, each by its weight beforehand times the
// likelihood of what was lately read.
func weighed(days []float64, seen []Seen, spread []float64, list func(scale float64, add func(way Going, weight float64))) (g Goings) {
	days, seen, scale := lately(days, seen)
	spread = rising(spread)
	g.near = factorsOf(spread)
	n := len(g.near)
	rows, sites, logs := make([][]Seen, n), make([][]Site, n), make([]float64, n)
	for k, f := range g.near {
		rows[k] = scattered(seen, f)
	}
	list(scale, func(way Going, weight float64) {
		for k, row := range rows {
			sites[k], logs[k] = way.fit(days, row, sites[k])
		}
		l, scatter := g.near.over(logs, spread)
		g.Of, g.Weight, g.Scatter = append(g.Of, way), append(g.Weight, l+math.Log(weight)), append(g.Scatter, scatter)
	})
	weigh(g.Weight)
	return g
}

// scatters are factors by which readings may scatter more by way i, rising and equally likely.
func (g Goings) scatters(i int) []float64 {
	if g.Scatter == nil {
		return []float64{1}
	}
	return g.Scatter[i]
}

// scatter is the mean of scatters, in squares.
func (g Goings) scatter(i int) float64 {
	square := 0.0
	of := g.scatters(i)
	for _, f := range of {
		square += f * f / float64(len(of))
	}
	return math.Sqrt(square)
}

// factors are where the ways were fitted.
func (g Goings) factors() factors {
	if g.near == nil {
		return factors{1}
	}
	return g.near
}
