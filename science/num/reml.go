package num

import (
	"errors"
	"fmt"
	"math"
)

// REMLFit is a fit of a linear mixed model with random intercepts.
type REMLFit struct {
	Coef     []float64   // fixed effects
	Cov      [][]float64 // their covariance, the variances taken as known
	Residual float64     // residual standard deviation
	SD       []float64   // standard deviation of each grouping's effects; 0 at the boundary
	// VarCov is the inverse expected information of the variances: each
	// grouping's, then the residual's. Rows of a variance at 0 are NaN.
	VarCov    [][]float64
	Effect    [][]float64 // predicted effect of each group of each grouping
	Criterion float64     // −2 log restricted likelihood, with its constants
	DF        int         // observations less fixed effects
}

// SE is the standard error of fixed effect j.
func (f REMLFit) SE(j int) float64 { return math.Sqrt(f.Cov[j][j]) }

// ErrConfounded says that a variance cannot be told from another or from the
// residual's by the design.
var ErrConfounded = errors.New("the design cannot tell the variance parts apart")

// REML fits y = X·β + Σ_k u_k[groups[k]] + e with independent u_k ~ N(0, σ_k²)
// and e ~ N(0, σ²) by restricted maximum likelihood (Patterson & Thompson 1971,
// Biometrika 58, 545). groups[k][i] is the group, from 0, that observation i
// belongs to in grouping k. Groupings may cross or nest (give a cask of one
// batch another number than a cask of another). Small and dense: the cost goes
// with the cube of the number of groups.
//
// The fixed effects are projected out first, so everything left is in
// W = ZᵀKKᵀZ and t = ZᵀKKᵀy, K an orthonormal basis of what X leaves. σ² is
// profiled out; Newton in γ_k = σ_k²/σ² ≥ 0 from several starts, judged by the
// gradient; a γ whose gradient points below 0 rests at 0. With balanced data
// and no boundary it equals the analysis of variance.
//
// Standard errors do not include what estimating the variances adds.
func REML(y []float64, X [][]float64, groups ...[]int) (REMLFit, error) {
	r, err := newREML(y, X, groups)
	if err != nil {
		return REMLFit{}, err
	}
	if err := r.search(); err != nil {
		return REMLFit{}, err
	}
	return r.finish()
}

// reml is the problem, reduced to the groups.
type reml struct {
	q        [][]float64 // orthonormal columns spanning X
	qr       *householder
	scale    []int     // column j of X was multiplied by 2^scale[j] for qr
	first    []float64 // the least-squares fit
	residual []float64 // KKᵀy
	groups   [][]int
	start    []int       // first column of Z of grouping k; the last is their number
	w        [][]float64 // ZᵀKKᵀZ
	t        []float64   // ZᵀKKᵀy
	yy       float64     // yᵀKKᵀy
	nu       float64     // n − p
	gamma    []float64
}

func newREML(y []float64, X [][]float64, groups [][]int) (*reml, error) {
	if err := checkDesign(X, y, nil); err != nil {
		return nil, err
	}
	n, p := len(y), len(X[0])
	if n <= p {
		return nil, fmt.Errorf("%d observations leave nothing beside %d fixed effects", n, p)
	}
	r := &reml{groups: groups, start: []int{0}, nu: float64(n - p), gamma: make([]float64, len(groups))}
	for k, g := range groups {
		if len(g) != n {
			return nil, fmt.Errorf("grouping %d has %d entries for %d observations", k+1, len(g), n)
		}
		count := map[int]int{}
		most := 0
		for i, v := range g {
			if v < 0 || v > 1_000_000 {
				return nil, fmt.Errorf("grouping %d, observation %d: group %d", k+1, i+1, v)
			}
			count[v]++
			most = max(most, v)
		}
		if len(count) == n {
			return nil, fmt.Errorf("grouping %d has one observation a group: %w", k+1, ErrConfounded)
		}
		r.start = append(r.start, r.start[k]+most+1)
	}
	columns := make([][]twofold, p)
	for j := range columns {
		columns[j] = make([]twofold, n)
		for i := range X {
			columns[j][i].hi = X[i][j]
		}
	}
	a, err := newAugmented(columns) // checks the rank
	if err != nil {
		return nil, err
	}
	f, err := leastSquares(columns, y, nil)
	if err != nil {
		return nil, err
	}
	r.qr, r.scale, r.first, r.residual = a.qr, a.exp, f.Coef, f.Residual
	for j := range p {
		e := make([]float64, n)
		e[j] = 1
		a.qr.mulQ(e)
		r.q = append(r.q, e)
	}
	r.project()
	if !(r.yy > 0) {
		return nil, errors.New("the fixed effects leave no spread to split")
	}
	return r, nil
}

// project fills in w, t, yy.
func (r *reml) project() {
	m := r.start[len(r.groups)]
	r.yy = dot(r.residual, r.residual)
	r.t = r.sumByGroup(r.residual)
	cols := make([][]float64, m) // columns of ZᵀZ less (ZᵀQ)(QᵀZ)
	for c := range cols {
		cols[c] = make([]float64, m)
	}
	for i := range r.residual {
		for k, g := range r.groups {
			for l, h := range r.groups {
				cols[r.start[k]+g[i]][r.start[l]+h[i]]++
			}
		}
	}
	for _, q := range r.q {
		s := r.sumByGroup(q)
		for a := range s {
			for b := range s {
				cols[a][b] -= s[a] * s[b]
			}
		}
	}
	r.w = cols
}

// sumByGroup is Zᵀv.
func (r *reml) sumByGroup(v []float64) []float64 {
	sums := make([]Sum, r.start[len(r.groups)])
	for k, g := range r.groups {
		for i, x := range v {
			sums[r.start[k]+g[i]].Add(x)
		}
	}
	out := make([]float64, len(sums))
	for c := range sums {
		out[c] = sums[c].Value()
	}
	return out
}

// remlPoint is the restricted likelihood at one γ. P is that of the covariance
// over σ²: H = I + ZΓZᵀ.
type remlPoint struct {
	criterion float64     // log|KᵀHK| + ν·log(yᵀPy/ν)
	s         float64     // yᵀPy
	a         []float64   // ZᵀPy
	trace     []float64   // tr(P·Z_kZ_kᵀ)
	quad      []float64   // |Z_kᵀPy|²
	square    [][]float64 // |Z_kᵀPZ_l|²
	cross     [][]float64 // yᵀP·V_k·P·V_l·Py
}

func (r *reml) at(gamma []float64) (remlPoint, error) {
	m := len(r.t)
	lambda := make([]float64, m)
	for k := range r.groups {
		for c := r.start[k]; c < r.start[k+1]; c++ {
			lambda[c] = math.Sqrt(gamma[k])
		}
	}
	b := make([][]float64, m)
	for i := range b {
		b[i] = make([]float64, m)
		for j := range b[i] {
			b[i][j] = lambda[i] * r.w[i][j] * lambda[j]
		}
		b[i][i]++
	}
	l, err := newCholesky(b)
	if err != nil {
		return remlPoint{}, err
	}
	half := make([][]float64, m) // L⁻¹ΛW by columns
	scratch := make([]float64, m)
	for j := range half {
		for i := range scratch {
			scratch[i] = lambda[i] * r.w[i][j]
		}
		half[j] = l.whiten(scratch)
	}
	for i := range scratch {
		scratch[i] = lambda[i] * r.t[i]
	}
	side := l.whiten(scratch)
	p := remlPoint{s: r.yy - dot(side, side), a: make([]float64, m)}
	for i := range p.a {
		p.a[i] = r.t[i] - dot(half[i], side)
	}
	r.fill(&p, half)
	p.criterion = l.logDet() + r.nu*math.Log(p.s/r.nu)
	if !(p.s > 0) {
		return p, ErrConfounded
	}
	return p, nil
}

// fill adds the traces and quadratic forms, from M = ZᵀPZ = W − halfᵀ·half.
func (r *reml) fill(p *remlPoint, half [][]float64) {
	n := len(r.groups)
	p.trace, p.quad = make([]float64, n), make([]float64, n)
	p.square, p.cross = make([][]float64, n), make([][]float64, n)
	for k := range n {
		p.square[k], p.cross[k] = make([]float64, n), make([]float64, n)
		for i := r.start[k]; i < r.start[k+1]; i++ {
			p.quad[k] += p.a[i] * p.a[i]
			p.trace[k] += r.w[i][i] - dot(half[i], half[i])
			for l := range n {
				for j := r.start[l]; j < r.start[l+1]; j++ {
					m := r.w[i][j] - dot(half[i], half[j])
					p.square[k][l] += m * m
					p.cross[k][l] += p.a[i] * m * p.a[j]
				}
			}
		}
	}
}

// slope and curve are gradient and Hessian of the criterion in γ; curve is the
// expected one where expected is asked for.
func (r *reml) slope(p remlPoint, k int) float64 { return p.trace[k] - r.nu*p.quad[k]/p.s }

func (r *reml) curve(p remlPoint, k, l int, expected bool) float64 {
	if expected {
		return p.square[k][l] - p.trace[k]*p.trace[l]/r.nu
	}
	return -p.square[k][l] + r.nu*(2*p.cross[k][l]/p.s-p.quad[k]/p.s*p.quad[l]/p.s)
}
