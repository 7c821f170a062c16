package num

import (
	"fmt"
	"math"
)

// search tries several starts and keeps the lowest criterion.
func (r *reml) search() error {
	best := math.Inf(1)
	var failed error = ErrNoMinimum
	found := false
	for _, start := range []float64{1, 0.05, 20} {
		gamma := make([]float64, len(r.groups))
		for k := range gamma {
			gamma[k] = start
		}
		value, err := r.descend(gamma)
		if err != nil {
			failed = err
			continue
		}
		found = true
		if value < best-1e-9*math.Abs(best) || best == math.Inf(1) {
			best = value
			copy(r.gamma, gamma)
		}
	}
	if !found {
		return failed
	}
	return nil
}

// descend moves gamma to a minimum: Newton steps where the Hessian allows, else
// scoring steps, cut at 0 and halved until the criterion falls; at the end, full
// Newton steps as long as they shrink.
func (r *reml) descend(gamma []float64) (float64, error) {
	if len(gamma) == 0 {
		p, err := r.at(gamma)
		return p.criterion, err
	}
	p, err := r.at(gamma)
	if err != nil {
		return 0, err
	}
	last := math.Inf(1)
	for range 500 {
		free := r.free(p, gamma)
		if len(free) == 0 {
			return p.criterion, nil
		}
		step := r.step(p, free)
		if step == nil {
			return 0, ErrConfounded
		}
		change := 0.0
		for i, k := range free {
			change = max(change, math.Abs(step[i])/(gamma[k]+1e-8))
		}
		next, q, ok := r.move(p, gamma, free, step, change)
		if !ok || change < 1e-15 || change < 1e-9 && change >= last/2 {
			if change > 1e-6 {
				return 0, fmt.Errorf("%w: the gradient does not vanish", ErrNoMinimum)
			}
			return p.criterion, nil
		}
		copy(gamma, next)
		p, last = q, change
		for _, g := range gamma {
			if g > 1e12 {
				return 0, fmt.Errorf("the residual spread is nothing beside the groups': %w", ErrConfounded)
			}
		}
	}
	return 0, ErrNoMinimum
}

// free are the groupings whose γ may move: above 0, or wanting to rise from it.
func (r *reml) free(p remlPoint, gamma []float64) []int {
	var free []int
	for k, g := range gamma {
		if g > 0 || r.slope(p, k) < -1e-9*(math.Abs(p.trace[k])+1) {
			free = append(free, k)
		}
	}
	return free
}

// step solves curve·step = −slope over the free groupings; nil where they
// cannot be told apart.
func (r *reml) step(p remlPoint, free []int) []float64 {
	g := make([]float64, len(free))
	for i, k := range free {
		g[i] = -r.slope(p, k)
	}
	for _, expected := range []bool{false, true} {
		h := make([][]float64, len(free))
		for i, k := range free {
			h[i] = make([]float64, len(free))
			for j, l := range free {
				h[i][j] = r.curve(p, k, l, expected)
			}
		}
		if l, err := newCholesky(h); err == nil {
			return l.solve(g)
		}
	}
	return nil
}

func (r *reml) move(p remlPoint, gamma []float64, free []int, step []float64, change float64) ([]float64, remlPoint, bool) {
	for t := 1.0; t > 1e-12; t /= 2 {
		next := append([]float64(nil), gamma...)
		for i, k := range free {
			next[k] = max(0, gamma[k]+t*step[i])
		}
		q, err := r.at(next)
		if err != nil {
			continue
		}
		// close in, the criterion no longer tells points apart: trust Newton
		if q.criterion < p.criterion || change < 1e-5 && t == 1 && q.criterion < p.criterion+1e-9 {
			return next, q, true
		}
	}
	return nil, p, false
}

// finish turns γ into variances and fits the fixed effects.
func (r *reml) finish() (REMLFit, error) {
	p, err := r.at(r.gamma)
	if err != nil {
		return REMLFit{}, err
	}
	s2 := p.s / r.nu
	f := REMLFit{Residual: math.Sqrt(s2), DF: int(r.nu)}
	for k, g := range r.gamma {
		f.SD = append(f.SD, math.Sqrt(g*s2))
		effects := make([]float64, r.start[k+1]-r.start[k])
		for i := range effects {
			effects[i] = g * p.a[r.start[k]+i]
		}
		f.Effect = append(f.Effect, effects)
	}
	logX := 0.0 // log|XᵀX|
	for j := range r.q {
		logX += 2 * (math.Log(math.Abs(r.qr.r[j][j])) - float64(r.scale[j])*math.Ln2)
	}
	f.Criterion = p.criterion + r.nu*(1+math.Log(2*math.Pi)) + logX
	if err := r.fixed(&f, s2); err != nil {
		return REMLFit{}, err
	}
	f.VarCov, err = r.varianceCovariance(p, s2)
	return f, err
}

// fixed is β = (XᵀH⁻¹X)⁻¹XᵀH⁻¹y through the orthonormal columns of X, as a step
// from the least-squares fit.
func (r *reml) fixed(f *REMLFit, s2 float64) error {
	solve, err := r.inverse()
	if err != nil {
		return err
	}
	p := len(r.q)
	c := make([][]float64, p)
	rhs := make([]float64, p)
	for j := range c {
		h := solve(r.q[j])
		c[j] = make([]float64, p)
		for i := range c[j] {
			c[j][i] = dot(r.q[i], h)
		}
		rhs[j] = dot(h, r.residual)
	}
	for j := range c {
		for i := range j {
			c[i][j] = c[j][i]
		}
	}
	l, err := newCholesky(c)
	if err != nil {
		return err
	}
	f.Coef = l.solve(rhs)
	r.qr.solveR(f.Coef)
	half := make([][]float64, p) // L⁻¹·R⁻ᵀ by columns
	for j := range half {
		e := make([]float64, p)
		e[j] = 1
		r.qr.solveRT(e)
		half[j] = l.whiten(e)
	}
	f.Cov = make([][]float64, p)
	for i := range f.Cov {
		f.Cov[i] = make([]float64, p)
		for j := range half {
			f.Cov[i][j] = math.Ldexp(s2*dot(half[i], half[j]), r.scale[i]+r.scale[j])
		}
		f.Coef[i] = r.first[i] + math.Ldexp(f.Coef[i], r.scale[i])
	}
	return nil
}

// inverse returns v → H⁻¹v = v − ZΛ(I + ΛZᵀZΛ)⁻¹ΛZᵀv.
func (r *reml) inverse() (func([]float64) []float64, error) {
	m := len(r.t)
	b := make([][]float64, m)
	for c := range b {
		b[c] = make([]float64, m)
	}
	lambda := make([]float64, m)
	for k, g := range r.gamma {
		for c := r.start[k]; c < r.start[k+1]; c++ {
			lambda[c] = math.Sqrt(g)
		}
	}
	for i := range r.residual {
		for k, g := range r.groups {
			for l, h := range r.groups {
				u, v := r.start[k]+g[i], r.start[l]+h[i]
				b[u][v] += lambda[u] * lambda[v]
			}
		}
	}
	for c := range b {
		b[c][c]++
	}
	l, err := newCholesky(b)
	return func(v []float64) []float64 {
		sums := r.sumByGroup(v)
		for c := range sums {
			sums[c] *= lambda[c]
		}
		u := l.solve(sums)
		out := append([]float64(nil), v...)
		for k, g := range r.groups {
			for i := range out {
				c := r.start[k] + g[i]
				out[i] -= lambda[c] * u[c]
			}
		}
		return out
	}, err
}

// varianceCovariance inverts the expected information ½·tr(P·V_i·P·V_j) of the
// variances above 0 and the residual's; the residual's rows follow from
// P·V·P = P and tr(P·V) = ν.
func (r *reml) varianceCovariance(p remlPoint, s2 float64) ([][]float64, error) {
	n := len(r.groups)
	var on []int
	for k, g := range r.gamma {
		if g > 0 {
			on = append(on, k)
		}
	}
	m := len(on)
	f := make([][]float64, m+1) // in units of s2
	for i := range f {
		f[i] = make([]float64, m+1)
	}
	all, both := r.nu, 0.0
	for i, k := range on {
		all -= r.gamma[k] * p.trace[k]
		edge := p.trace[k]
		for j, l := range on {
			f[i][j] = p.square[k][l] / 2
			edge -= r.gamma[l] * p.square[k][l]
		}
		f[i][m], f[m][i] = edge/2, edge/2
		both += r.gamma[k] * edge
	}
	f[m][m] = (all - both) / 2
	l, err := newCholesky(f)
	if err != nil {
		return nil, ErrConfounded
	}
	cov := make([][]float64, n+1)
	for i := range cov {
		cov[i] = make([]float64, n+1)
		for j := range cov[i] {
			cov[i][j] = math.NaN()
		}
	}
	on = append(on, n)
	for j := range on {
		e := make([]float64, m+1)
		e[j] = 1
		for i, v := range l.solve(e) {
			cov[on[i]][on[j]] = s2 * s2 * v
		}
	}
	return cov, nil
}
