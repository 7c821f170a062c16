package num

import (
	"errors"
	"fmt"
	"math"
)

// Fit is a fitted linear model.
type Fit struct {
	Coef     []float64
	Unscaled [][]float64 // (XᵀWX)⁻¹: the covariance of Coef where w = 1/σ² is known
	Cov      [][]float64 // SD²·Unscaled: the covariance where the weights are only relative; NaN if DF = 0
	Residual []float64   // y − X·Coef, not weighted
	SD       float64     // √(ResidualSS/DF), of an observation of weight 1; NaN if DF = 0
	DF       int         // rows of weight above 0, less coefficients
	R2       float64     // 1 − ResidualSS/TotalSS
	ANOVA    ANOVA
}

// ANOVA splits the weighted sum of squares of y. With a constant column in X
// sums are taken about the mean, without one about 0.
type ANOVA struct {
	RegressionSS, ResidualSS, TotalSS float64
	RegressionDF                      int
	F                                 float64 // mean square of regression ÷ of residual; +Inf for a perfect fit
}

// SE is the standard error of coefficient j from Cov.
func (f Fit) SE(j int) float64 { return math.Sqrt(f.Cov[j][j]) }

// KnownSE is the standard error of coefficient j where w = 1/σ² is known.
func (f Fit) KnownSE(j int) float64 { return math.Sqrt(f.Unscaled[j][j]) }

// LeastSquares minimises Σ w_i·(y_i − x_i·b)² over b; X holds one row per
// observation, and a column of ones where an intercept is wanted. A nil w means
// equal weights; a row of weight 0 keeps a residual and counts for nothing else.
//
// QR with columns scaled by powers of two, then refinement of coefficients and
// residuals together (see augmented), so the answer is right to 13 digits or more
// for the data as given, however far x lies from 0; nothing has to be centred.
// For powers of x use Polynomial, which does not round them first.
//
// Faults: fewer rows than columns, unequal lengths, a value that is no finite
// number, a negative weight, columns that depend on each other (ErrRank).
func LeastSquares(X [][]float64, y, w []float64) (Fit, error) {
	if err := checkDesign(X, y, w); err != nil {
		return Fit{}, err
	}
	columns := make([][]twofold, len(X[0]))
	for j := range columns {
		columns[j] = make([]twofold, len(X))
		for i := range X {
			columns[j][i] = twofold{hi: X[i][j]}
		}
	}
	return leastSquares(columns, y, w)
}

// Polynomial fits y = b0 + b1·x + … + b_degree·x^degree. Powers are carried
// twofold: rounding them costs half of the digits on data like Filip's.
func Polynomial(x, y, w []float64, degree int) (Fit, error) {
	if degree < 0 {
		return Fit{}, errors.New("a polynomial's degree is 0 or more")
	}
	columns := make([][]twofold, degree+1)
	for j := range columns {
		columns[j] = make([]twofold, len(x))
	}
	X := make([][]float64, len(x))
	for i, v := range x {
		X[i] = make([]float64, degree+1)
		p := twofold{hi: 1}
		for j := range columns {
			columns[j][i], X[i][j] = p, p.hi
			p = p.times(v)
		}
	}
	if err := checkDesign(X, y, w); err != nil {
		return Fit{}, err
	}
	return leastSquares(columns, y, w)
}

func checkDesign(X [][]float64, y, w []float64) error {
	switch {
	case len(X) == 0 || len(X[0]) == 0:
		return errors.New("no observations or no columns to fit")
	case len(y) != len(X) || w != nil && len(w) != len(X):
		return fmt.Errorf("%d rows, %d values and %d weights do not match", len(X), len(y), len(w))
	}
	rows := 0
	for i, row := range X {
		if len(row) != len(X[0]) {
			return fmt.Errorf("row %d has %d columns, the first has %d", i+1, len(row), len(X[0]))
		}
		for _, v := range row {
			if !finite(v) {
				return fmt.Errorf("row %d of the design holds %g", i+1, v)
			}
		}
		if !finite(y[i]) {
			return fmt.Errorf("value %d is %g", i+1, y[i])
		}
		if w != nil && !(finite(w[i]) && w[i] >= 0) {
			return fmt.Errorf("weight %d is %g: weights are 0 or more", i+1, w[i])
		}
		if w == nil || w[i] > 0 {
			rows++
		}
	}
	if rows < len(X[0]) {
		return fmt.Errorf("%d observations cannot determine %d coefficients", rows, len(X[0]))
	}
	return nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// leastSquares fits checked columns.
func leastSquares(columns [][]twofold, y, w []float64) (Fit, error) {
	n, m := len(y), len(columns)
	root := make([]float64, n) // √w
	b := make([]twofold, n)
	weighted := make([][]twofold, m)
	for j := range weighted {
		weighted[j] = make([]twofold, n)
	}
	rows := 0
	for i := range y {
		root[i] = 1
		if w != nil {
			root[i] = math.Sqrt(w[i])
		}
		if root[i] > 0 {
			rows++
		}
		b[i] = twoProduct(y[i], root[i])
		for j := range columns {
			weighted[j][i] = columns[j][i].times(root[i])
		}
	}
	s, err := newAugmented(weighted)
	if err != nil {
		return Fit{}, err
	}
	x, r, err := s.solve(b, nil)
	if err != nil {
		return Fit{}, err
	}
	if norm2(r) < 1e-28*norm2(y) {
		clear(r) // what twofold arithmetic rounds away: the fit is exact
	}
	f := Fit{Coef: x, Residual: r, DF: rows - m}
	for j := range x {
		x[j] = math.Ldexp(x[j], s.exp[j])
	}
	f.anova(columns, y, root, r)
	if f.Unscaled, err = s.inverseNormal(); err != nil {
		return Fit{}, err
	}
	f.Cov = scaled(f.Unscaled, f.SD*f.SD)
	for i := range r {
		if root[i] > 0 {
			r[i] /= root[i]
			continue
		}
		var k Sum
		k.Add(y[i])
		for j := range x {
			k.AddProduct(-columns[j][i].hi, x[j])
		}
		r[i] = k.Value()
	}
	return f, nil
}

// anova fills in the sums of squares from weighted residuals r = root·(y − Xb).
func (f *Fit) anova(columns [][]twofold, y, root, r []float64) {
	mean, constant := 0.0, hasConstant(columns, root)
	if constant {
		var sw, swy Sum
		for i := range y {
			sw.AddProduct(root[i], root[i])
			swy.AddProduct(root[i]*root[i], y[i])
		}
		mean = swy.Value() / sw.Value()
	}
	var res, reg, tot Sum
	for i := range y {
		res.AddProduct(r[i], r[i])
		d := root[i] * (y[i] - mean)
		tot.AddProduct(d, d)
		d -= r[i]
		reg.AddProduct(d, d)
	}
	a := &f.ANOVA
	a.RegressionSS, a.ResidualSS, a.TotalSS = reg.Value(), res.Value(), tot.Value()
	a.RegressionDF = len(columns)
	if constant {
		a.RegressionDF--
	}
	f.R2 = 1 - a.ResidualSS/a.TotalSS
	f.SD, a.F = math.NaN(), math.NaN()
	if f.DF > 0 {
		f.SD = math.Sqrt(a.ResidualSS / float64(f.DF))
		a.F = a.RegressionSS / float64(a.RegressionDF) / (a.ResidualSS / float64(f.DF))
	}
}

// hasConstant says whether a column is the same, not 0, in every row that counts.
func hasConstant(columns [][]twofold, root []float64) bool {
	for _, c := range columns {
		var first float64
		same := true
		for i := range c {
			if root[i] == 0 {
				continue
			}
			if first == 0 {
				first = c[i].hi
			}
			same = same && first != 0 && c[i].hi == first
		}
		if same {
			return true
		}
	}
	return false
}

func scaled(a [][]float64, by float64) [][]float64 {
	out := make([][]float64, len(a))
	for i := range a {
		out[i] = make([]float64, len(a[i]))
		for j := range a[i] {
			out[i][j] = by * a[i][j]
		}
	}
	return out
}
