package num

import (
	"errors"
	"fmt"
	"math"
)

// CensoredFit is the maximum-likelihood fit of a Gaussian regression whose
// responses are known as intervals.
type CensoredFit struct {
	Coef   []float64
	Scale  float64     // σ
	Cov    [][]float64 // inverse observed information of Coef, then log σ
	LogLik float64     // log probability of intervals, log density of exact values
	N      float64     // sum of counts
	Steps  int
}

// ErrFlat says that the likelihood has no maximum at finite coefficients and a
// spread above 0, or is flat there: the readings all fall in one interval, say,
// or a coefficient rests on readings that are all open at one end.
var ErrFlat = errors.New("the likelihood has no maximum: the readings do not bound every coefficient and the spread")

// Censored fits y = x·β + σ·ε, ε standard normal, to lo ≤ y ≤ hi: interval,
// left-censored (lo = −Inf), right-censored (hi = +Inf) or exact (lo = hi)
// responses, by maximum likelihood. X has one row per cell; count (nil: all 1)
// says how often the cell was seen, so the cost goes with distinct cells.
//
// log L = Σ count·log[Φ((hi−xβ)/σ) − Φ((lo−xβ)/σ)], the density for exact values
// (Tobin 1958; Burridge 1981). In (β/σ, 1/σ) it is concave (Burridge 1981, J. R.
// Statist. Soc. B 43, 41), so Newton's method with halved steps finds the
// maximum if there is one. Then Newton in (β, log σ) sharpens it.
//
// These are plain maximum-likelihood figures: with a handful of readings σ comes
// out too small and Cov with it.
func Censored(X [][]float64, lo, hi, count []float64) (CensoredFit, error) {
	c, err := newCensored(X, lo, hi, count)
	if err != nil {
		return CensoredFit{}, err
	}
	steps, err := c.search()
	if err != nil {
		return CensoredFit{}, err
	}
	return c.finish(steps)
}

// censored holds the problem in tidy units: responses less a first fit, over a
// first spread s; columns of X turned into orthogonal ones of mean square 1.
type censored struct {
	x             [][]float64 // n × p, x·T
	lo, hi, count []float64
	n             float64
	first         []float64 // coefficients of the first fit
	s             float64
	turn          [][]float64 // T, upper triangular
	gamma         []float64   // coefficients over σ
	theta, logLik float64     // theta = 1/σ
}

func newCensored(X [][]float64, lo, hi, count []float64) (*censored, error) {
	if len(lo) != len(X) || len(hi) != len(X) || count != nil && len(count) != len(X) {
		return nil, errors.New("rows, interval ends and counts differ in number")
	}
	mid, w := make([]float64, len(X)), make([]float64, len(X))
	width, widths, n := 0.0, 0.0, 0.0
	for i := range X {
		w[i] = 1
		if count != nil {
			w[i] = count[i]
		}
		if !(w[i] >= 0) || math.IsInf(w[i], 0) {
			return nil, fmt.Errorf("count %d is %g: counts are 0 or more", i+1, w[i])
		}
		if !(lo[i] <= hi[i]) || math.IsInf(lo[i], 1) || math.IsInf(hi[i], -1) {
			return nil, fmt.Errorf("interval %d runs from %g to %g", i+1, lo[i], hi[i])
		}
		n += w[i]
		switch below, above := math.IsInf(lo[i], -1), math.IsInf(hi[i], 1); {
		case below && above:
			w[i] = 0 // says nothing
		case below:
			mid[i] = hi[i]
		case above:
			mid[i] = lo[i]
		default:
			mid[i] = lo[i] + (hi[i]-lo[i])/2
			width, widths = width+w[i]*(hi[i]-lo[i]), widths+w[i]
		}
	}
	if err := checkDesign(X, mid, w); err != nil {
		return nil, err
	}
	f, err := LeastSquares(X, mid, w)
	if err != nil {
		return nil, err
	}
	c := &censored{first: f.Coef, n: n}
	ss := 0.0
	for _, v := range w {
		ss += v
	}
	c.s = math.Sqrt(f.ANOVA.ResidualSS / ss)
	if size := norm2(mid); c.s <= 1e-12*size || c.s == 0 {
		switch {
		case width > 0:
			c.s = width / widths / 4
		default:
			return nil, fmt.Errorf("every response lies on the fitted line: %w", ErrFlat)
		}
	}
	c.orthogonal(X, w, ss)
	for i := range X {
		if w[i] == 0 {
			continue
		}
		fit := Dot(X[i], c.first)
		c.lo, c.hi = append(c.lo, (lo[i]-fit)/c.s), append(c.hi, (hi[i]-fit)/c.s)
		c.count = append(c.count, w[i])
	}
	return c, nil
}

// orthogonal makes T with X·T orthogonal, and the rows that count of X·T.
func (c *censored) orthogonal(X [][]float64, w []float64, total float64) {
	p := len(X[0])
	cols := make([][]float64, p)
	for j := range cols {
		cols[j] = make([]float64, len(X))
		for i := range X {
			cols[j][i] = math.Sqrt(w[i]) * X[i][j]
		}
	}
	q := newHouseholder(cols)
	c.turn = make([][]float64, p) // c.turn[j] is column j of T
	for j := range p {
		t := make([]float64, p)
		t[j] = math.Sqrt(total)
		q.solveR(t)
		c.turn[j] = t
	}
	for i := range X {
		if w[i] == 0 {
			continue
		}
		row := make([]float64, p)
		for j := range row {
			row[j] = Dot(X[i], c.turn[j])
		}
		c.x = append(c.x, row)
	}
}

const (
	censoredSteps = 300
	flatPivot     = 1e-11 // information left, a reading, in the worst direction
	noSpread      = 1e9   // first spread ÷ spread, where there is none left
)

// search climbs in (γ, θ) = (δ/σ, 1/σ).
func (c *censored) search() (int, error) {
	p := len(c.x[0])
	c.gamma, c.theta = make([]float64, p), 1
	here, g, h := c.concave(c.gamma, c.theta)
	for step := 1; step <= censoredSteps; step++ {
		l, pivot := c.ridge(h)
		d := l.solve(g)
		if gain := Dot(g, d) / c.n; gain < 1e-15 {
			if pivot < flatPivot {
				return step, ErrFlat
			}
			return step, nil
		}
		moved := false
		for t := 1.0; t > 1e-12; t /= 2 {
			theta := c.theta + t*d[p]
			if theta <= 0 {
				continue
			}
			gamma := make([]float64, p)
			for j := range gamma {
				gamma[j] = c.gamma[j] + t*d[j]
			}
			value, g2, h2 := c.concave(gamma, theta)
			if value > here {
				c.gamma, c.theta, here, g, h = gamma, theta, value, g2, h2
				moved = true
				break
			}
		}
		switch {
		case c.theta > noSpread:
			return step, ErrFlat
		case !moved && pivot < flatPivot:
			return step, ErrFlat
		case !moved:
			return step, nil // rounding: the sharpening decides
		}
	}
	return censoredSteps, ErrFlat
}

// ridge is the Cholesky factor of h, with something added where h is not
// positive definite to working precision, and h's smallest pivot a reading.
func (c *censored) ridge(h [][]float64) (cholesky, float64) {
	for add := 0.0; ; add = max(10*add, 1e-14*c.n) {
		v := scaled(h, 1)
		for i := range v {
			v[i][i] += add
		}
		l, err := newCholesky(v)
		if err != nil {
			if add > 1e6*c.n {
				return identity(len(h)), 0
			}
			continue
		}
		pivot := math.Inf(1)
		for i := range l {
			pivot = min(pivot, l[i][i]*l[i][i]/c.n)
		}
		if add > 0 {
			pivot = 0
		}
		return l, pivot
	}
}

func identity(n int) cholesky {
	l := make(cholesky, n)
	for i := range l {
		l[i] = make([]float64, i+1)
		l[i][i] = 1
	}
	return l
}

// concave is the log-likelihood in (γ, θ), its gradient and minus its Hessian.
// With Z = θY − η the latent response's score in (η, θ) is (Z, 1/θ − ZY), and
// Hess log P = E[Hess] + Cov[score] over Y known to lie in its interval.
func (c *censored) concave(gamma []float64, theta float64) (value float64, g []float64, h [][]float64) {
	p := len(gamma)
	var sum Sum
	n := newNewton(p)
	for i, x := range c.x {
		eta := Dot(x, gamma)
		t := truncate(theta*c.lo[i]-eta, theta*c.hi[i]-eta)
		sum.Add(c.count[i] * t.logP)
		if c.lo[i] == c.hi[i] {
			sum.Add(c.count[i] * math.Log(theta))
		}
		n.add(x, c.count[i], t.m1, (1-t.m2-eta*t.m1)/theta,
			1-t.v,
			-(t.m1+eta-t.c-eta*t.v)/theta,
			(1+t.m2+2*eta*t.m1+eta*eta-t.q-2*eta*t.c-eta*eta*t.v)/(theta*theta))
	}
	return sum.Value(), n.g, n.full()
}

// plain is the same in (δ, τ = log σ).
func (c *censored) plain(delta []float64, tau float64) (value float64, g []float64, h [][]float64) {
	var sum Sum
	n := newNewton(len(delta))
	s := math.Exp(tau)
	for i, x := range c.x {
		mu := Dot(x, delta)
		t := truncate((c.lo[i]-mu)/s, (c.hi[i]-mu)/s)
		sum.Add(c.count[i] * t.logP)
		if c.lo[i] == c.hi[i] {
			sum.Add(-c.count[i] * (tau + math.Log(c.s)))
		}
		n.add(x, c.count[i], t.m1/s, t.m2-1, (1-t.v)/(s*s), (2*t.m1-t.c)/s, 2*t.m2-t.q)
	}
	return sum.Value(), n.g, n.full()
}

// newton gathers a gradient and minus a Hessian in p coefficients and one more
// parameter.
type newton struct {
	g []float64
	h [][]float64
}

func newNewton(p int) *newton {
	n := &newton{g: make([]float64, p+1), h: make([][]float64, p+1)}
	for i := range n.h {
		n.h[i] = make([]float64, p+1)
	}
	return n
}

func (n *newton) add(x []float64, count, gMu, gS, hMu, hMuS, hS float64) {
	p := len(x)
	for j, v := range x {
		n.g[j] += count * gMu * v
		for k := range j + 1 {
			n.h[j][k] += count * hMu * v * x[k]
		}
		n.h[p][j] += count * hMuS * v
	}
	n.g[p] += count * gS
	n.h[p][p] += count * hS
}

func (n *newton) full() [][]float64 {
	for j := range n.h {
		for k := range j {
			n.h[k][j] = n.h[j][k]
		}
	}
	return n.h
}

// finish sharpens in (δ, τ), inverts the information and turns back.
func (c *censored) finish(steps int) (CensoredFit, error) {
	p := len(c.gamma)
	at := make([]float64, p+1)
	for j := range p {
		at[j] = c.gamma[j] / c.theta
	}
	at[p] = -math.Log(c.theta)
	last := math.Inf(1)
	var l cholesky
	for range 20 {
		var g []float64
		var h [][]float64
		var err error
		c.logLik, g, h = c.plain(at[:p], at[p])
		if l, err = newCholesky(h); err != nil {
			return CensoredFit{}, ErrFlat
		}
		d := l.solve(g)
		change := norm2(d)
		if change >= last/2 {
			break
		}
		for j := range at {
			at[j] += d[j]
		}
		last = change
	}
	if !(last < 1e-6) {
		return CensoredFit{}, ErrFlat
	}
	f := CensoredFit{N: c.n, LogLik: c.logLik, Scale: c.s * math.Exp(at[p]), Steps: steps}
	for j := range p {
		b := c.first[j]
		for k := j; k < p; k++ {
			b += c.s * c.turn[k][j] * at[k]
		}
		f.Coef = append(f.Coef, b)
	}
	f.Cov = c.covariance(l)
	return f, nil
}

// covariance is A·(inverse information)·Aᵀ, A = (s·T, 1).
func (c *censored) covariance(l cholesky) [][]float64 {
	p := len(l) - 1
	back := make([][]float64, p+1) // rows of A·L⁻ᵀ: columns of L⁻¹·Aᵀ
	for j := range back {
		e := make([]float64, p+1)
		if j == p {
			e[p] = 1
		} else {
			for k := j; k < p; k++ {
				e[k] = c.s * c.turn[k][j]
			}
		}
		back[j] = l.whiten(e)
	}
	cov := make([][]float64, p+1)
	for i := range cov {
		cov[i] = make([]float64, p+1)
		for j := range cov[i] {
			cov[i][j] = Dot(back[i], back[j])
		}
	}
	return cov
}
