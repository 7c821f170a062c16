package num

import (
	"errors"
	"math"
	"testing"
)

func columns(t testing.TB, name string) [][]float64 {
	v, _ := rows(t, name)
	out := make([][]float64, len(v[0]))
	for _, r := range v {
		for j := range r {
			out[j] = append(out[j], r[j])
		}
	}
	return out
}

func pearson(t testing.TB) (x, y, ux, uy []float64) {
	c := columns(t, "pearson_york.csv")
	x, y, ux, uy = c[0], c[1], c[2], c[3]
	for i := range ux {
		ux[i], uy[i] = 1/math.Sqrt(ux[i]), 1/math.Sqrt(uy[i])
	}
	return x, y, ux, uy
}

func diagonal(u []float64) [][]float64 {
	v := make([][]float64, len(u))
	for i := range v {
		v[i] = make([]float64, len(u))
		v[i][i] = u[i] * u[i]
	}
	return v
}

func bothAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Lines with errors in both (`GeneralLine`)", "slope, intercept", "standard errors", "χ²/DF")
	x, y, ux, uy := pearson(t)
	var p struct {
		Recomputed struct {
			Slope, Intercept float64
			SES              float64 `json:"se_slope"`
			SEI              float64 `json:"se_intercept"`
			Cov              float64
			S                float64 `json:"S_over_n_minus_2"`
		}
	}
	readJSON(t, "pearson_york.json", &p)
	w := p.Recomputed
	l, err := GeneralLine(x, y, diagonal(ux), diagonal(uy))
	if err != nil {
		t.Fatal(err)
	}
	a.set("Pearson–York", 13, "York et al. 2004; printed to 9, recomputed to 13")
	a.add("slope, intercept", l.Slope, w.Slope)
	a.add("slope, intercept", l.Intercept, w.Intercept)
	a.add("standard errors", l.SESlope, w.SES)
	a.add("standard errors", l.SEIntercept, w.SEI)
	a.add("standard errors", l.Covariance, w.Cov)
	a.add("χ²/DF", l.ChiSquare/float64(l.DF), w.S)
	return a
}

// chiSquareAt is the sum that a line with errors in both minimises, written out.
func chiSquareAt(x, y, ux, uy []float64, a, b float64) float64 {
	s := 0.0
	for i := range x {
		d := y[i] - a - b*x[i]
		s += d * d / (uy[i]*uy[i] + b*b*ux[i]*ux[i])
	}
	return s
}

// No line near it may have a smaller sum.
func TestGeneralLineIsTheMinimum(t *testing.T) {
	rng := Source(5)
	for trial := range 50 {
		n := 8
		x, y, ux, uy := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range x {
			ux[i], uy[i] = 0.05+rng.Float64()*0.4, 0.05+rng.Float64()*0.6
			x[i] = float64(i) + ux[i]*rng.NormFloat64()
			y[i] = 1 + 0.7*float64(i) + uy[i]*rng.NormFloat64()
		}
		l, err := GeneralLine(x, y, diagonal(ux), diagonal(uy))
		if err != nil {
			t.Fatal(err)
		}
		least := chiSquareAt(x, y, ux, uy, l.Intercept, l.Slope)
		needDigits(t, "χ²", l.ChiSquare, least, 12)
		for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, -1}, {-1, 1}} {
			a, b := l.Intercept+d[0]*1e-5*l.SEIntercept, l.Slope+d[1]*1e-5*l.SESlope
			if s := chiSquareAt(x, y, ux, uy, a, b); s < least-1e-13*least {
				t.Errorf("trial %d: %g at the line, %g beside it", trial, least, s)
			}
		}
	}
}

// Without error in x it is weighted least squares; a shift that all x share
// (a stock's error in the offset) moves only the intercept and its error.
func TestGeneralLineLimits(t *testing.T) {
	x, y, ux, uy := pearson(t)
	X, w := make([][]float64, len(x)), make([]float64, len(x))
	for i := range x {
		X[i], w[i] = []float64{1, x[i]}, 1/(uy[i]*uy[i])
	}
	f, err := LeastSquares(X, y, w)
	if err != nil {
		t.Fatal(err)
	}
	g, err := GeneralLine(x, y, nil, diagonal(uy))
	if err != nil {
		t.Fatal(err)
	}
	needDigits(t, "slope", g.Slope, f.Coef[1], 13)
	needDigits(t, "intercept", g.Intercept, f.Coef[0], 13)
	needDigits(t, "SE slope", g.SESlope, f.KnownSE(1), 13)
	needDigits(t, "SE intercept", g.SEIntercept, f.KnownSE(0), 13)
	const shared = 0.3
	vx := diagonal(ux)
	for i := range vx {
		for j := range vx {
			vx[i][j] += shared * shared
		}
	}
	s, err := GeneralLine(x, y, vx, diagonal(uy))
	if err != nil {
		t.Fatal(err)
	}
	plain, _ := GeneralLine(x, y, diagonal(ux), diagonal(uy))
	needDigits(t, "slope with a shared error", s.Slope, plain.Slope, 12)
	needDigits(t, "its standard error", s.SESlope, plain.SESlope, 11)
	want := math.Sqrt(plain.SEIntercept*plain.SEIntercept + plain.Slope*plain.Slope*shared*shared)
	if math.Abs(s.SEIntercept/want-1) > 0.02 { // the centre moves a little with it
		t.Errorf("SE of the intercept %g, want about %g", s.SEIntercept, want)
	}
}

func TestLinesRefuse(t *testing.T) {
	x, y, u := []float64{1, 2, 3}, []float64{1, 2, 4}, []float64{1, 1, 1}
	if _, err := GeneralLine(x, y, nil, nil); !errors.Is(err, ErrNotPositive) {
		t.Errorf("no errors at all: %v", err)
	}
	if _, err := GeneralLine([]float64{2, 2, 2}, y, nil, diagonal(u)); !errors.Is(err, ErrRank) {
		t.Errorf("one x: %v", err)
	}
	if _, err := GeneralLine(x[:2], y[:2], nil, diagonal(u[:2])); err == nil {
		t.Error("two points")
	}
	if _, err := GeneralLine(x, y, [][]float64{{1}, {1}, {1}}, nil); !errors.Is(err, ErrNotPositive) {
		t.Errorf("a covariance with short rows: %v", err)
	}
}
