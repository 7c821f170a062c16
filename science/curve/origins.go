package curve

import (
	"math"
	"math/rand/v2"
	"slices"

	"knownwater/science/num"
)

// origins are the errors that a curve has of the points it was fitted to, in equally likely draws that the points themselves
// give: two versions fitted to the same points err alike, by the scatter of their signals and by their
// knowns, so that it falls out of what one says less the other. A point is the same where level, signal and dilution are; a known is told
// by its points, a stock by all of them, those too that were left out of the fit: a version that leaves out more has the same knowns, one
// with a new signal that has not so now and then.
type origins struct {
	lv      levels
	scatter [][]float64 // [level][draw]: the error of the mean signal, in its standard deviations
	known   [][]float64 // [level][draw]: of the known by itself
	stock   []float64   // [draw]: of what all knowns share of their stock
	water   []float64   // … and of the background of their water
	shared  float64     // relative standard uncertainty of the stock
	rng     *rand.Rand  // for what is drawn of all of them
}

// originsOf are those of a segment in n draws.
func (d Document) originsOf(dilution float64, c Curve, n int, gone []Point) origins {
	of := func(p Point) bool {
		return !p.Check && p.Cell() <= c.Top && (len(d.Segments) == 0 || p.Dilution == dilution)
	}
	var points []Point
	for _, p := range d.Points {
		if of(p.Point) {
			points = append(points, p.Point)
		}
	}
	o := origins{lv: reduce(points), shared: d.Choices.Shared}
	normals := func(key uint64, of string) []float64 {
		out := make([]float64, n)
		for i, k := range num.Named(of, key).Perm(n) {
			out[i] = num.PhiInv((float64(k) + 0.5) / float64(n))
		}
		return out
	}
	times, used := map[Point]uint64{}, 0
	least := uint64(math.MaxUint64)
	at := map[float64]int{}
	leastOf := make([]uint64, o.lv.count())
	for i, level := range o.lv.c {
		at[level], leastOf[i] = i, math.MaxUint64
		o.scatter = append(o.scatter, make([]float64, n))
	}
	for _, p := range slices.Concat(points, gone) {
		i, there := at[p.Cell()]
		if !there || !of(p) {
			continue
		}
		same := Point{Level: p.Level, Signal: p.Signal, Dilution: p.Dilution}
		key := num.Mix(math.Float64bits(p.Level) ^ num.Mix(math.Float64bits(p.Signal)^num.Mix(math.Float64bits(p.Dilution)^num.Mix(times[same]+1))))
		times[same]++
		least, leastOf[i] = min(least, key), min(leastOf[i], key)
		if used++; used > len(points) {
			continue
		}
		for k, z := range normals(key, "signal") {
			o.scatter[i][k] += z / math.Sqrt(o.lv.n[i])
		}
	}
	for _, key := range leastOf {
		o.known = append(o.known, normals(key, "known"))
	}
	o.stock, o.water, o.rng = normals(least, "stock"), normals(least, "water"), num.Named("points", least)
	return o
}

// nearEnough is how far the covariance that the points give may lie from that of the fit, in its standard deviations, to be taken for it.
const nearEnough = 0.05

// through is how the coefficients of a weighting err in each draw, by the scatter of signals (one that is known) and by the
// knowns: what points and knowns bring goes through the gain of generalised least squares. Where that is not the covariance of the fit, of a
// curve that was corrected since, they are drawn by rng alone.
func (o origins) through(c Curve, w Weighting, n int, rng *rand.Rand) (noise, known [][]float64) {
	x, scatter, carried, free := o.design(c, w)
	count, p := o.lv.count(), len(w.Coef)
	v := plus(scatter, carried)
	gain, err := num.Gain(x, v)
	if err != nil || count == 0 {
		gain = zeros(len(free), count) // points that do not tell the coefficients are not those of this fit
	}
	draw := func(cov [][]float64, target [][]float64, errors func(i, k int) float64) [][]float64 {
		out := zeros(n, p)
		told := true
		for a, fa := range free {
			for b, fb := range free {
				told = told && math.Abs(num.Bilinear(gain[a], cov, gain[b])-target[fa][fb]) <= nearEnough*math.Sqrt(target[fa][fa]*target[fb][fb])
			}
		}
		for k := range n {
			if !told {
				out[k] = thrown(out[k], target, rng)
				continue
			}
			for a, f := range free {
				for i := range count {
					out[k][f] += gain[a][i] * errors(i, k)
				}
			}
		}
		return out
	}
	noise = draw(scatter, w.Noise, func(i, k int) float64 { return math.Sqrt(scatter[i][i]) * o.scatter[i][k] })
	if w.Known == nil {
		return noise, zeros(n, p)
	}
	return noise, draw(carried, w.Known, func(i, k int) float64 {
		at := o.lv.c[i]
		own := math.Sqrt(o.lv.own(i, o.shared))
		return c.form.Slope(w.Coef, at) * (own*o.known[i][k] + o.shared*at*o.stock[k] + o.lv.shared[i]*o.water[k])
	})
}

// design are the gradients of the coefficients that are free at each level, and the covariances of its mean signals: by their own scatter, and
// by the knowns' errors, carried over by the slope.
func (o origins) design(c Curve, w Weighting) (x, scatter, carried [][]float64, free []int) {
	for i := range w.Noise {
		if w.Noise[i][i] > 0 {
			free = append(free, i)
		}
	}
	n := o.lv.count()
	x, scatter, carried = make([][]float64, n), zeros(n, n), zeros(n, n)
	g := make([]float64, len(w.Coef))
	knowns := o.lv.known(o.shared)
	for i, at := range o.lv.c {
		scatter[i][i] = w.Size * w.Size * w.Variance.at(at) / o.lv.n[i]
		c.form.Gradient(w.Coef, at, g)
		for _, f := range free {
			x[i] = append(x[i], g[f])
		}
		for j, other := range o.lv.c {
			if w.Known != nil {
				carried[i][j] = c.form.Slope(w.Coef, at) * knowns[i][j] * c.form.Slope(w.Coef, other)
			}
		}
	}
	return x, scatter, carried, free
}

func zeros(n, m int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, m)
	}
	return out
}
