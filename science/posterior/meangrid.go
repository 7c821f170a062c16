package posterior

import (
	"math"
	"sort"

	"knownwater/science/num"
)

// meanGrid is the distribution of a group's mean at one u.
type meanGrid struct{ m, cum []float64 }

// meanParts is into how many parts a cell of the density is cut: points that are
// enough for its integral lie up to 0.9 standard deviations apart, across which its
// distribution is far from straight.
const meanParts = 5

// fewParts is that where few draws are asked for.
const fewParts = 3

// newMeanGrid takes the density f at the points m, cells cut into so many parts. Its logarithm goes between them along
// cubics whose slope at a point is that of the parabola through it and its neighbours,
// exact for a normal; where it falls by more than 1 from one to the next, as at the ends
// of an interval that is wide beside the spread, slopes are held back so that nothing
// overshoots (M. Steffen, Astron. Astrophys. 239 (1990) 443). Quantiles are good to 0.01
// standard deviations where points are no more than one apart.
func newMeanGrid(m, f []float64, parts int) *meanGrid {
	n := len(m)
	all := make([]float64, 2*n)
	log, slope := all[:n], all[n:]
	for i, v := range f {
		log[i] = num.Log(math.Max(v, 1e-300))
	}
	for i := range slope {
		slope[i] = slopeAt(m, log, i)
	}
	all = make([]float64, 2*n*parts)
	q := &meanGrid{all[: 0 : n*parts], all[n*parts:][:0]}
	q.m, q.cum = append(q.m, m[0]), append(q.cum, 0)
	before, sum := f[0], 0.0
	for i := 1; i < n; i++ {
		h := m[i] - m[i-1]
		for k := 1; k <= parts; k++ {
			t := float64(k) / float64(parts)
			r := 1 - t
			value := f[i]
			if k < parts {
				value = num.Exp(r*r*(1+2*t)*log[i-1] + t*t*(1+2*r)*log[i] + t*r*h*(r*slope[i-1]-t*slope[i]))
			}
			sum += h / float64(parts) * (before + value) / 2
			before = value
			q.m, q.cum = append(q.m, m[i-1]+t*h), append(q.cum, sum)
		}
	}
	return q
}

// slopeAt is the slope of y over x at point i.
func slopeAt(x, y []float64, i int) float64 {
	n := len(x)
	secant := func(k int) float64 { return (y[k+1] - y[k]) / (x[k+1] - x[k]) }
	switch {
	case n == 2:
		return secant(0)
	case i == 0: // the parabola through the first three
		a, b := secant(0), secant(1)
		return held(a-(b-a)*(x[1]-x[0])/(x[2]-x[0]), a, a, x[1]-x[0], x[1]-x[0])
	case i == n-1:
		a, b := secant(n-2), secant(n-3)
		return held(a+(a-b)*(x[n-1]-x[n-2])/(x[n-1]-x[n-3]), a, a, x[n-1]-x[n-2], x[n-1]-x[n-2])
	}
	a, b, left, right := secant(i-1), secant(i), x[i]-x[i-1], x[i+1]-x[i]
	return held((a*right+b*left)/(left+right), a, b, left, right)
}

// held keeps a slope between secants a and b from overshooting where they are steep.
func held(slope, a, b, left, right float64) float64 {
	if math.Abs(a*left) <= 1 && math.Abs(b*right) <= 1 {
		return slope
	}
	if a*b <= 0 {
		return 0
	}
	return math.Copysign(math.Min(math.Abs(slope), 2*math.Min(math.Abs(a), math.Abs(b))), a)
}

// below is the chance of a mean below m.
func (q *meanGrid) below(m float64) float64 {
	n := len(q.m)
	switch {
	case m <= q.m[0]:
		return 0
	case m >= q.m[n-1]:
		return 1
	}
	i := sort.SearchFloat64s(q.m, m)
	gap, part := q.m[i]-q.m[i-1], 0.0
	if gap > 0 {
		part = (m - q.m[i-1]) / gap
	}
	return (q.cum[i-1] + part*(q.cum[i]-q.cum[i-1])) / q.cum[n-1]
}

// at inverts the distribution.
func (q *meanGrid) at(p float64) float64 {
	n := len(q.cum)
	want := p * q.cum[n-1]
	lo, hi := 0, n-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; q.cum[mid] < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	gap := q.cum[hi] - q.cum[lo]
	if !(gap > 0) {
		return q.m[lo]
	}
	return q.m[lo] + (q.m[hi]-q.m[lo])*(want-q.cum[lo])/gap
}
