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
// wanders. Of a long row its last 1,200 readings count.
func GoingsOf(days []float64, seen []Seen) Goings {
	return weighed(days, seen, func(scale float64, add func(way Going, weight float64)) {
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
func weighed(days []float64, seen []Seen, list func(scale float64, add func(way Going, weight float64))) (g Goings) {
	days, seen, scale := lately(days, seen)
	var sites []Site
	list(scale, func(way Going, weight float64) {
		var l float64
		sites, l = way.fit(days, seen, sites)
		g.Of, g.Weight = append(g.Of, way), append(g.Weight, l+math.Log(weight))
	})
	weigh(g.Weight)
	return g
}
