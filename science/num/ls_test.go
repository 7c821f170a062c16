package num

import (
	"errors"
	"math"
	"testing"
)

func TestLeastSquaresRefuses(t *testing.T) {
	one := func(n int) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = float64(i * i)
		}
		return v
	}
	dependent := [][]float64{{1, 2, 3}, {1, 3, 4}, {1, 5, 6}, {1, 9, 10}}
	for _, c := range []struct {
		name string
		X    [][]float64
		y, w []float64
		rank bool
	}{
		{"third column = first + second", dependent, one(4), nil, true},
		{"a column of zeros", [][]float64{{1, 0}, {1, 0}, {1, 0}}, one(3), nil, true},
		{"same x everywhere", [][]float64{{1, 0.3}, {1, 0.3}, {1, 0.3}}, one(3), nil, true},
		{"weights leave one x", [][]float64{{1, 2}, {1, 2}, {1, 3}}, one(3), []float64{1, 1, 0}, true},
		{"two rows, three columns", dependent[:2], one(2), nil, false},
		{"nothing", nil, nil, nil, false},
		{"too few values", dependent, one(3), nil, false},
		{"uneven rows", [][]float64{{1, 2}, {1}, {1, 3}}, one(3), nil, false},
		{"NaN in X", [][]float64{{1, 2}, {1, math.NaN()}, {1, 3}}, one(3), nil, false},
		{"infinite y", [][]float64{{1, 2}, {1, 4}, {1, 3}}, []float64{1, math.Inf(1), 2}, nil, false},
		{"negative weight", [][]float64{{1, 2}, {1, 4}, {1, 3}}, one(3), []float64{1, -1, 2}, false},
	} {
		_, err := LeastSquares(c.X, c.y, c.w)
		if err == nil || errors.Is(err, ErrRank) != c.rank {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if _, err := Polynomial([]float64{1, 2, 3}, one(3), nil, -1); err == nil {
		t.Error("degree −1")
	}
}

// With as many rows as coefficients the line goes through the points and there
// is no spread to state.
func TestLeastSquaresWithoutFreedom(t *testing.T) {
	f, err := LeastSquares([][]float64{{1, 2}, {1, 4}}, []float64{3, 7}, nil)
	if err != nil || f.DF != 0 || !math.IsNaN(f.SD) || !math.IsNaN(f.SE(0)) {
		t.Errorf("%+v %v", f, err)
	}
	needDigits(t, "slope", f.Coef[1], 2, 15)
	needDigits(t, "known standard error", f.KnownSE(1), math.Sqrt(0.5), 15)
}

// A row of weight 3 is the row written three times, but for degrees of freedom.
func TestWeightsCountRows(t *testing.T) {
	x := []float64{0, 1, 2, 4, 7}
	y := []float64{0.1, 1.3, 1.7, 4.4, 6.9}
	w := []float64{1, 3, 2, 1, 4}
	var X, XX [][]float64
	var yy []float64
	for i := range x {
		X = append(X, []float64{1, x[i]})
		for range int(w[i]) {
			XX, yy = append(XX, []float64{1, x[i]}), append(yy, y[i])
		}
	}
	a, err1 := LeastSquares(X, y, w)
	b, err2 := LeastSquares(XX, yy, nil)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	for j := range 2 {
		needDigits(t, "coefficient", a.Coef[j], b.Coef[j], 14)
		needDigits(t, "unscaled error", a.KnownSE(j), b.KnownSE(j), 14)
	}
	needDigits(t, "residual SS", a.ANOVA.ResidualSS, b.ANOVA.ResidualSS, 14)
	needDigits(t, "total SS", a.ANOVA.TotalSS, b.ANOVA.TotalSS, 14)
	needDigits(t, "R²", a.R2, b.R2, 14)
	if a.DF != 3 || b.DF != 9 {
		t.Errorf("degrees of freedom %d, %d", a.DF, b.DF)
	}
}

// A row of weight 0 keeps a residual and changes nothing.
func TestWeightZero(t *testing.T) {
	X := [][]float64{{1, 0}, {1, 1}, {1, 2}, {1, 3}}
	a, err1 := LeastSquares(X, []float64{0, 1, 3, 100}, []float64{1, 1, 1, 0})
	b, err2 := LeastSquares(X[:3], []float64{0, 1, 3}, nil)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	needDigits(t, "slope", a.Coef[1], b.Coef[1], 15)
	needDigits(t, "SD", a.SD, b.SD, 15)
	needDigits(t, "residual left out", a.Residual[3], 100-b.Coef[0]-3*b.Coef[1], 14)
}

// V = σ²I + τ²J (an error that all share): with an intercept the coefficients
// are those of ordinary least squares and the intercept's variance is τ² more.
func TestGLSSharedError(t *testing.T) {
	x := []float64{0, 1, 2, 4, 7, 11}
	y := []float64{0.1, 1.3, 1.7, 4.4, 6.9, 11.5}
	const s2, t2 = 0.09, 0.4
	X, V := make([][]float64, 6), make([][]float64, 6)
	for i := range x {
		X[i] = []float64{1, x[i]}
		V[i] = make([]float64, 6)
		for j := range x {
			V[i][j] = t2
		}
		V[i][i] += s2
	}
	g, err1 := GLS(X, y, V)
	f, err2 := LeastSquares(X, y, nil)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	for j := range 2 {
		needDigits(t, "coefficient", g.Coef[j], f.Coef[j], 13)
	}
	needDigits(t, "var intercept", g.Unscaled[0][0], s2*f.Unscaled[0][0]+t2, 13)
	needDigits(t, "var slope", g.Unscaled[1][1], s2*f.Unscaled[1][1], 13)
	needDigits(t, "covariance", g.Unscaled[0][1], s2*f.Unscaled[0][1], 13)
	needDigits(t, "χ²", g.ANOVA.ResidualSS, f.ANOVA.ResidualSS/s2, 12)
	for i := range y {
		needDigits(t, "residual", g.Residual[i], f.Residual[i], 11)
	}
	V[2][3] = 7
	if _, err := GLS(X, y, V); !errors.Is(err, ErrNotPositive) {
		t.Errorf("a lopsided covariance: %v", err)
	}
	V[2][3], V[3][2], V[2][2], V[3][3] = 1, 1, 0.5, 0.5
	if _, err := GLS(X, y, V); !errors.Is(err, ErrNotPositive) {
		t.Errorf("a covariance with correlation 2: %v", err)
	}
}

// gls_ar1.R (R 4.2.2, solve() on 6 × 6): AR(1) errors with correlation 0.6.
func TestGLSAgainstR(t *testing.T) {
	x := []float64{0, 1, 2, 4, 7, 11}
	y := []float64{0.1, 1.3, 1.7, 4.4, 6.9, 11.5}
	X, V := make([][]float64, 6), make([][]float64, 6)
	for i := range x {
		X[i] = []float64{1, x[i]}
		V[i] = make([]float64, 6)
		for j := range x {
			V[i][j] = 0.3 * math.Pow(0.6, math.Abs(float64(i-j)))
		}
	}
	g, err := GLS(X, y, V)
	if err != nil {
		t.Fatal(err)
	}
	v, _ := rows(t, "gls_ar1.csv")
	for i, got := range []float64{g.Coef[0], g.Coef[1], g.Unscaled[0][0], g.Unscaled[0][1], g.Unscaled[1][1], g.ANOVA.ResidualSS} {
		// the intercept, −0.004, is a difference of ones: 4e-15 of y in R's normal equations
		needDigits(t, "GLS", got, v[i][0], 11.5)
	}
}

func BenchmarkLeastSquaresLine20(b *testing.B) {
	X, y := make([][]float64, 20), make([]float64, 20)
	for i := range X {
		X[i], y[i] = []float64{1, float64(i)}, float64(i)+math.Sin(float64(i))
	}
	for range b.N {
		if _, err := LeastSquares(X, y, nil); err != nil {
			b.Fatal(err)
		}
	}
}
