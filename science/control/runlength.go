package control

import (
	"math"

	"knownwater/science/num"
)

// Normal is what one check is distributed as, on the scale on which the chart holds it
// for N(0, 1): a shift and a spread.
type Normal struct{ Mean, SD float64 }

// Standard is a check of a method that has not moved.
var Standard = Normal{0, 1}

func (n Normal) below(x float64) float64   { return num.Phi((x - n.Mean) / n.SD) }
func (n Normal) density(x float64) float64 { return num.NormalPDF((x-n.Mean)/n.SD) / n.SD }

// Individuals is the mean number of checks until one lies beyond ±limit: the chances are
// alike at each check, so the number is geometric and its mean 1/p (ISO 7870-2).
func Individuals(limit float64, n Normal) float64 {
	return 1 / (n.below(-limit) + num.Phi((n.Mean-limit)/n.SD))
}

// CUSUM is a one-sided running sum C := max(0, C + z − K), which signals above H and
// starts at Start (ISO 7870-4; a start above 0 is a head start, J. M. Lucas and
// R. B. Crosier 1982, Technometrics 24, 199).
type CUSUM struct{ K, H, Start float64 }

// nodes for the integral equations: Gauss and Legendre's rule on the piece where a sum may
// lie. With 44 the mean run lengths of the grids in testdata come out to 1e-8.
const nodes = 44

// RunLength is the mean number of checks until the upper sum signals. The mean L(s) from
// a sum s solves
//
//	L(s) = 1 + L(0) P(z ≤ K − s) + ∫0..H L(t) f(t + K − s) dt
//
// (E. S. Page 1954, Biometrika 41, 100), here at Gauss and Legendre's points and at 0.
// Infinite where a signal is too rare for numbers of this precision.
func (c CUSUM) RunLength(n Normal) float64 {
	x, w := gauss(0, c.H)
	at := append([]float64{0}, x...)
	m := make([][]float64, len(at))
	one := make([]float64, len(at))
	for i, s := range at {
		m[i] = make([]float64, len(at))
		m[i][0] = -n.below(c.K - s)
		for j := range x {
			m[i][j+1] = -w[j] * n.density(x[j]+c.K-s)
		}
		m[i][i]++
		one[i] = 1
	}
	l, ok := solve(m, one)
	if !ok {
		return math.Inf(1)
	}
	if c.Start == 0 {
		return positive(l[0])
	}
	from := 1 + l[0]*n.below(c.K-c.Start)
	for j := range x {
		from += w[j] * n.density(x[j]+c.K-c.Start) * l[j+1]
	}
	return positive(from)
}

// positive is a mean number of checks; what came out as nonsense was too large to solve for.
func positive(l float64) float64 {
	if !(l > 0) {
		return math.Inf(1)
	}
	return l
}

// TwoSided is the mean number of checks until one of two sums, upward and downward,
// signals. up and down are those of each alone, from its start and from 0:
//
//	(U_s D_0 + U_0 D_s − U_0 D_0) / (U_0 + D_0) = (U_s/U_0 + D_s/D_0 − 1) / (1/U_0 + 1/D_0)
//
// exact where the two sums cannot both be above 0 after the first check (Lucas and
// Crosier 1982); with U_s = U_0 it is K. W. Kemp's rule 1/L = 1/U + 1/D. Where both can it may
// come out too small; a signal takes one check at least.
func TwoSided(upFromStart, upFromZero, downFromStart, downFromZero float64) float64 {
	switch {
	case math.IsInf(upFromZero, 1):
		return downFromStart
	case math.IsInf(downFromZero, 1):
		return upFromStart
	}
	upFromStart, downFromStart = math.Min(upFromStart, upFromZero), math.Min(downFromStart, downFromZero)
	both := (upFromStart/upFromZero + downFromStart/downFromZero - 1) / (1/upFromZero + 1/downFromZero) // products of run lengths may be too large for a number
	return math.Max(both, 1)
}

// BothSides is the mean number of checks until the sum or its mirror image signals.
func (c CUSUM) BothSides(n Normal) float64 {
	zero, down := c, Normal{-n.Mean, n.SD}
	zero.Start = 0
	return TwoSided(c.RunLength(n), zero.RunLength(n), c.RunLength(down), zero.RunLength(down))
}

// EWMA is a weighted average E := (1−λ)E + λz that starts at 0 and signals beyond
// ±Limit·√(λ/(2−λ)), Limit standard deviations of what it settles to (ISO 7870-6).
type EWMA struct{ Lambda, Limit float64 }

// Bound is where the average signals.
func (e EWMA) Bound() float64 { return e.Limit * math.Sqrt(e.Lambda/(2-e.Lambda)) }

// RunLength is the mean number of checks until the average signals. From an average s,
//
//	L(s) = 1 + 1/λ ∫−B..B L(t) f((t − (1−λ)s)/λ) dt
//
// (S. V. Crowder 1987, Technometrics 29, 401), at Gauss and Legendre's points.
func (e EWMA) RunLength(n Normal) float64 {
	b := e.Bound()
	x, w := gauss(-b, b)
	step := func(s float64, j int) float64 { return w[j] / e.Lambda * n.density((x[j]-(1-e.Lambda)*s)/e.Lambda) }
	m := make([][]float64, nodes)
	one := make([]float64, nodes)
	for i, s := range x {
		m[i] = make([]float64, nodes)
		for j := range x {
			m[i][j] = -step(s, j)
		}
		m[i][i]++
		one[i] = 1
	}
	l, ok := solve(m, one)
	if !ok {
		return math.Inf(1)
	}
	from := 1.0
	for j := range x {
		from += step(0, j) * l[j]
	}
	return positive(from)
}

// rule is Gauss and Legendre's rule on [−1, 1], by Newton's steps from Tricomi's first guess.
func rule() (x, w [nodes]float64) {
	const n = nodes
	for i := range n {
		t := math.Cos(math.Pi * (float64(i) + 0.75) / (n + 0.5))
		slope := 0.0
		for range 100 {
			p, before := 1.0, 0.0
			for k := range n {
				p, before = ((2*float64(k)+1)*t*p-float64(k)*before)/float64(k+1), p
			}
			slope = n * (t*p - before) / (t*t - 1)
			d := p / slope
			if t -= d; math.Abs(d) < 1e-15 {
				break
			}
		}
		x[n-1-i], w[n-1-i] = t, 2/((1-t*t)*slope*slope)
	}
	return x, w
}

var ruleX, ruleW = rule()

// gauss are the points and weights on [a, b].
func gauss(a, b float64) (x, w []float64) {
	x, w = make([]float64, nodes), make([]float64, nodes)
	for i := range nodes {
		x[i], w[i] = (a+b)/2+(b-a)/2*ruleX[i], (b-a)/2*ruleW[i]
	}
	return x, w
}

// solve is Gauss's elimination with row exchange; it changes m and y. Not ok: singular.
func solve(m [][]float64, y []float64) ([]float64, bool) {
	n := len(y)
	for i := range n {
		p := i
		for r := i + 1; r < n; r++ {
			if math.Abs(m[r][i]) > math.Abs(m[p][i]) {
				p = r
			}
		}
		if m[p][i] == 0 {
			return nil, false
		}
		m[i], m[p], y[i], y[p] = m[p], m[i], y[p], y[i]
		for r := i + 1; r < n; r++ {
			f := m[r][i] / m[i][i]
			if f == 0 {
				continue
			}
			for c := i; c < n; c++ {
				m[r][c] -= f * m[i][c]
			}
			y[r] -= f * y[i]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for c := i + 1; c < n; c++ {
			y[i] -= m[i][c] * y[c]
		}
		y[i] /= m[i][i]
	}
	return y, true
}
