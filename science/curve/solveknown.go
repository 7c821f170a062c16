package curve

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"knownwater/science/num"
	"knownwater/science/response"
)

// solveKnown fits with the knowns' errors. Their covariance is as stated, so it
// has no part in the degrees of freedom.
func (pr problem) solveKnown(f *response.Shape, v, start []float64) (solution, error) {
	exact := pr
	exact.known = nil
	first, err := exact.solveExact(f, v, start)
	if err != nil {
		return solution{}, err
	}
	if nu := float64(pr.replicates()); nu > 0 {
		return pr.withSize(f, v, first.coef, math.Sqrt(pr.pure(v)/nu), nu)
	}
	return pr.withoutReplicates(f, v, first)
}

// withoutReplicates finds the S that makes the misfit as large as its degrees
// of freedom (as R. C. Paule and J. Mandel 1982, J. Res. NBS 87, 377). Where the
// knowns' errors alone explain more than the misfit, next to nothing is left
// for the signals and S is a hundredth of what it would be without them.
func (pr problem) withoutReplicates(f *response.Shape, v []float64, exact solution) (solution, error) {
	df := exact.df
	if df <= 0 {
		return solution{}, errNoFit
	}
	excess := func(logS float64) float64 {
		s, err := pr.withSize(f, v, exact.coef, math.Exp(logS), df)
		if err != nil {
			return math.NaN()
		}
		return s.miss - df
	}
	high := math.Log(exact.size * 1.5)
	low := high - math.Log(150)
	logS := low
	if excess(low) > 0 {
		root, err := num.Root(excess, low, high, 1e-6)
		if err != nil {
			return solution{}, err
		}
		logS = root
	}
	return pr.withSize(f, v, exact.coef, math.Exp(logS), df)
}

// withSize fits for a given S.
func (pr problem) withSize(f *response.Shape, v, start []float64, size, df float64) (solution, error) {
	n := pr.count()
	vy := make([][]float64, n)
	for l := range vy {
		vy[l] = make([]float64, n)
		vy[l][l] = size * size * v[l] / pr.n[l]
	}
	s := solution{coef: start, size: size, df: df}
	total, err := pr.bothErrors(f, vy, &s)
	if err != nil {
		return solution{}, err
	}
	s.rss = s.miss*size*size + pr.pure(v)
	s.known, s.logML, err = pr.split(f, vy, total, s)
	s.noise = plus(total, times(s.known, -1))
	nu := float64(pr.replicates())
	for l := range v {
		s.logML -= (pr.n[l] - 1) / 2 * math.Log(v[l])
	}
	if nu > 0 {
		s.logML -= nu / 2 * math.Log(pr.pure(v))
	}
	return s, err
}

// bothErrors finds the coefficients, their whole covariance and the misfit: for
// a line exactly, for other shapes with the knowns' errors brought to the
// signal by the slope at each level, which settles in a few rounds.
func (pr problem) bothErrors(f *response.Shape, vy [][]float64, s *solution) (total [][]float64, err error) {
	if f.Name == Line && !pr.zero && pr.count() >= 3 {
		line, err := num.GeneralLine(pr.c, pr.mean, pr.known, vy)
		if err == nil {
			s.coef, s.miss = []float64{line.Intercept, line.Slope}, line.ChiSquare
			return [][]float64{
				{line.SEIntercept * line.SEIntercept, line.Covariance},
				{line.Covariance, line.SESlope * line.SESlope},
			}, nil
		}
	}
	for range 4 {
		s.coef, total, s.miss, err = pr.least(f, nil, pr.across(f, s.coef, vy), s.coef)
		if err != nil {
			return nil, err
		}
	}
	return total, nil
}

// across is the covariance of level means about the curve.
func (pr problem) across(f *response.Shape, coef []float64, vy [][]float64) [][]float64 {
	out := make([][]float64, pr.count())
	for i := range out {
		out[i] = make([]float64, pr.count())
		for j := range out[i] {
			out[i][j] = vy[i][j] + f.Slope(coef, pr.c[i])*pr.known[i][j]*f.Slope(coef, pr.c[j])
		}
	}
	return out
}

// split is the part of the coefficients' covariance that comes from the knowns:
// G·(slope·known·slope)·Gᵀ with the gain G = C·Xᵀ·V⁻¹. It also returns the
// logarithm of the likelihood of the level means, coefficients integrated out.
func (pr problem) split(f *response.Shape, vy, total [][]float64, s solution) ([][]float64, float64, error) {
	n, p := pr.count(), f.Params
	across := pr.across(f, s.coef, vy)
	v, k := mat.NewSymDense(n, nil), mat.NewSymDense(n, nil)
	x := mat.NewDense(n, p, nil)
	g := make([]float64, p)
	for i := range n {
		for j := range i + 1 {
			v.SetSym(i, j, across[i][j])
			k.SetSym(i, j, across[i][j]-vy[i][j])
		}
		f.Gradient(s.coef, pr.c[i], g)
		x.SetRow(i, g)
	}
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		return nil, math.NaN(), num.ErrNotPositive
	}
	var vx, gain, kg, known mat.Dense
	if err := chol.SolveTo(&vx, x); err != nil {
		return nil, math.NaN(), err
	}
	c := mat.NewDense(p, p, nil)
	for i := range p {
		c.SetRow(i, total[i])
	}
	gain.Mul(&vx, c) // n×p: Gᵀ
	kg.Mul(k, &gain)
	known.Mul(gain.T(), &kg)
	out := make([][]float64, p)
	for i := range out {
		out[i] = mat.Row(nil, i, &known)
	}
	return out, 0.5*logDet(total, pr.zero) - 0.5*chol.LogDet() - 0.5*s.miss, nil
}
