package num

import (
	"fmt"
	"math"
)

// GLS minimises (y − Xb)ᵀ·V⁻¹·(y − Xb): generalised least squares for
// observations with the full covariance V (Aitken 1935). V = L·Lᵀ whitens
// both sides, then QR as in LeastSquares.
//
// Where V is known, Unscaled = (XᵀV⁻¹X)⁻¹ is the covariance of the
// coefficients and ResidualSS is χ² on DF degrees of freedom; where V is known
// but for a factor, Cov is. Sums about a mean have no plain meaning here: R2
// and the regression's and total sums are NaN.
func GLS(X [][]float64, y []float64, V [][]float64) (Fit, error) {
	if err := checkDesign(X, y, nil); err != nil {
		return Fit{}, err
	}
	if len(V) != len(y) {
		return Fit{}, fmt.Errorf("a covariance of %d rows does not match %d values", len(V), len(y))
	}
	l, err := newCholesky(V)
	if err != nil {
		return Fit{}, err
	}
	columns := make([][]twofold, len(X[0]))
	col := make([]float64, len(y))
	for j := range columns {
		for i := range X {
			col[i] = X[i][j]
		}
		columns[j] = make([]twofold, len(y))
		for i, v := range l.whiten(col) {
			columns[j][i].hi = v
		}
	}
	f, err := leastSquares(columns, l.whiten(y), nil)
	if err != nil {
		return Fit{}, err
	}
	for i := range y {
		var k Sum
		k.Add(y[i])
		for j, b := range f.Coef {
			k.AddProduct(-X[i][j], b)
		}
		f.Residual[i] = k.Value()
	}
	nan := math.NaN()
	f.R2, f.ANOVA.RegressionSS, f.ANOVA.TotalSS, f.ANOVA.F = nan, nan, nan, nan
	return f, nil
}

// Gain is the map from observations to the coefficients of generalised least squares,
// G = (XᵀV⁻¹X)⁻¹XᵀV⁻¹ as [coefficient][observation], by QR of the whitened design. Errors
// of the observations go through it to those of the coefficients. The error says that the
// columns of X do not tell all coefficients.
func Gain(X, V [][]float64) ([][]float64, error) {
	l, err := newCholesky(V)
	if err != nil {
		return nil, err
	}
	n, p := len(X), len(X[0])
	if n < p {
		return nil, fmt.Errorf("%d observations do not tell %d coefficients", n, p)
	}
	columns := make([][]float64, p)
	for j := range columns {
		c := make([]float64, n)
		for i := range X {
			c[i] = X[i][j]
		}
		columns[j] = l.whiten(c)
	}
	q := newHouseholder(columns)
	gain := make([][]float64, p)
	for j := range gain {
		if !(math.Abs(q.r[j][j]) > 1e-12*norm2(columns[j])) {
			return nil, fmt.Errorf("the observations do not tell coefficient %d", j+1)
		}
		gain[j] = make([]float64, n)
	}
	for i := range n {
		one := make([]float64, n)
		one[i] = 1
		one = l.whiten(one)
		q.mulQT(one)
		q.solveR(one[:p])
		for j := range gain {
			gain[j][i] = one[j]
		}
	}
	return gain, nil
}
