package curve

import (
	"math"

	"knownwater/science/num"
)

// apart is a point that disagrees with the other replicates of its level.
type apart struct {
	Point
	others float64 // their mean
	p      float64 // chance that any of the points would stand as far off
}

// standApart finds points that disagree with the replicates of their own known, one by
// one, the furthest first, each with those before it left out. It asks about them: the
// curve is fitted with them all the same.
//
// A point is held against the mean of its level's others by Student's t with the
// scatter of all replicates but itself, and counts where that is less likely than 5 %
// for the most extreme of so many points (Bonferroni), however the scatter may grow with
// the signal: a handful of replicates does not tell that.
func standApart(points []Point) (out []apart) {
	for {
		worst := apart{p: adequate}
		at := -1
		for i := range points {
			if a := held(points, i); a.p < worst.p {
				worst, at = a, i
			}
		}
		if at < 0 || len(out) == mostApart {
			return out
		}
		out = append(out, worst)
		points = append(append([]Point(nil), points[:at]...), points[at+1:]...)
	}
}

// mostApart is as many as a person is asked about.
const mostApart = 5

// held holds a point against the other replicates of its level; p is 1 where nothing
// tells.
func held(points []Point, i int) apart {
	a := apart{Point: points[i], p: 1}
	if a.Check {
		return a
	}
	lv := reduce(append(append([]Point(nil), points[:i]...), points[i+1:]...))
	if lv.replicates() == 0 || lv.count() < 2 {
		return a
	}
	l := -1
	for k, c := range lv.c {
		if c == a.Cell() {
			l = k
		}
	}
	if l < 0 || lv.n[l] < 2 {
		return a
	}
	net, coef, err := problem{levels: lv}.net()
	if err != nil {
		return a
	}
	a.others, a.p = lv.mean[l], 0
	nu := float64(lv.replicates())
	for _, s := range spreads(net, coef, lv.top()) {
		v := s.of(lv.c)
		size := lv.pure(v) / nu * v[l]
		t := math.Abs(a.Signal-a.others) / math.Sqrt(size*(1+1/lv.n[l]))
		if !(size > 0) {
			t = 0
		}
		a.p = math.Max(a.p, 2*num.TCDF(-t, nu)*float64(lv.points+1))
	}
	return a
}
