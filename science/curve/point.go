package curve

import (
	"math"
	"sort"
)

// Point is a signal measured on a known.
type Point struct {
	Level, ULevel float64 // concentration of the known and its standard uncertainty (k = 1)
	UBackground   float64 // the part of ULevel that is of the background of their water, which all knowns share as it is; 0 if not known
	Signal        float64
	Check         bool // kept out of the fit, to judge it
	Session       string
	Replicate     string
	Dilution      float64 // of the known before it was measured; 1 where undiluted
	Row           int
}

// Cell is the concentration where the signal arises: the level after dilution.
func (p Point) Cell() float64 { return p.Level / p.Dilution }

// levels are points reduced to what a curve in concentration needs: all points
// of one concentration weigh alike, so their mean and the squares inside are enough.
type levels struct {
	c, mean []float64
	n       []float64
	within  []float64 // Σ(y − mean)² inside the level
	u       []float64 // standard uncertainty of the known
	shared  []float64 // the part of it that is of their water's background
	points  int
}

// reduce gathers the points of the fit. Points of one level are tests of one
// known: they share its error.
func reduce(points []Point) levels {
	var used []Point
	for _, p := range points {
		if !p.Check {
			used = append(used, p)
		}
	}
	sort.SliceStable(used, func(i, j int) bool { return used[i].Cell() < used[j].Cell() })
	lv := levels{points: len(used)}
	for i := 0; i < len(used); {
		j := i
		sum, u, shared := 0.0, 0.0, 0.0
		for ; j < len(used) && used[j].Cell() == used[i].Cell(); j++ {
			sum += used[j].Signal
			u = math.Max(u, used[j].ULevel/used[j].Dilution)
			shared = math.Max(shared, used[j].UBackground/used[j].Dilution)
		}
		n := float64(j - i)
		mean, within := sum/n, 0.0
		for _, p := range used[i:j] {
			within += (p.Signal - mean) * (p.Signal - mean)
		}
		lv.c, lv.mean = append(lv.c, used[i].Cell()), append(lv.mean, mean)
		lv.n, lv.within, lv.u, lv.shared = append(lv.n, n), append(lv.within, within), append(lv.u, math.Max(u, shared)), append(lv.shared, shared)
		i = j
	}
	return lv
}

func (lv levels) count() int { return len(lv.c) }

// replicates are the degrees of freedom inside levels.
func (lv levels) replicates() int { return lv.points - lv.count() }

func (lv levels) top() float64 { return lv.c[lv.count()-1] }

// exact says whether the knowns came without an uncertainty.
func (lv levels) exact(shared float64) bool {
	for _, u := range lv.u {
		if u > 0 {
			return false
		}
	}
	return shared == 0
}

// pure is the scatter inside levels, Σ within/v, for relative variances v.
func (lv levels) pure(v []float64) float64 {
	s := 0.0
	for i, w := range lv.within {
		s += w / v[i]
	}
	return s
}

// known is the covariance of the knowns' errors: each one's own, the part
// that all share through their stock, in proportion to the level, and the part that they share through the
// background of their water.
func (lv levels) known(stock float64) [][]float64 {
	k := make([][]float64, lv.count())
	for i := range k {
		k[i] = make([]float64, lv.count())
		for j := range k[i] {
			k[i][j] = stock*stock*lv.c[i]*lv.c[j] + lv.shared[i]*lv.shared[j]
		}
		k[i][i] += lv.own(i, stock)
	}
	return k
}

// own is the variance of a known's error that it shares with none: u is the whole, the stock's part and the background's in it where it is larger.
func (lv levels) own(i int, stock float64) float64 {
	return math.Max(0, lv.u[i]*lv.u[i]-stock*stock*lv.c[i]*lv.c[i]-lv.shared[i]*lv.shared[i])
}
