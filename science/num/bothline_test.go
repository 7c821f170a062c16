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
	a := newAccuracyTable("Lines with errors in both (`York`, `GeneralLine`, `Deming`, `Unattenuated`)", "slope, intercept", "standard errors", "χ²/DF")
	x, y, ux, uy := pearson(t)
	var p struct {
		Recomputed struct {
			Slope, Intercept float64
			SES              float64 `json:"se_slope"`
			SEI              float64 `json:"se_intercept"`
			Cov              float64
			S                float64 `json:"S_over_n_minus_2"`
			ScaledSES        float64 `json:"scaled_se_slope"`
			Orthogonal       struct{ Slope, Intercept float64 }
		}
	}
	readJSON(t, "pearson_york.json", &p)
	w := p.Recomputed
	lines := map[string]func() (Line, error){
		"Pearson–York":             func() (Line, error) { return York(x, y, ux, uy, nil) },
		"Pearson–York, covariance": func() (Line, error) { return GeneralLine(x, y, diagonal(ux), diagonal(uy)) },
	}
	for _, name := range []string{"Pearson–York", "Pearson–York, covariance"} {
		l, err := lines[name]()
		if err != nil {
			t.Fatal(err)
		}
		a.set(name, 13, "York et al. 2004; printed to 9, recomputed to 13")
		a.add("slope, intercept", l.Slope, w.Slope)
		a.add("slope, intercept", l.Intercept, w.Intercept)
		a.add("standard errors", l.SESlope, w.SES)
		a.add("standard errors", l.SEIntercept, w.SEI)
		a.add("standard errors", l.Covariance, w.Cov)
		a.add("standard errors", l.SESlope*l.Birge(), w.ScaledSES)
		a.add("χ²/DF", l.ChiSquare/float64(l.DF), w.S)
	}
	l, err := Deming(x, y, 1)
	if err != nil {
		t.Fatal(err)
	}
	a.set("Pearson, orthogonal", 14, "Pearson 1901, recomputed")
	a.add("slope, intercept", l.Slope, w.Orthogonal.Slope)
	a.add("slope, intercept", l.Intercept, w.Orthogonal.Intercept)

	var d struct {
		Recomputed []struct {
			Ratio            float64 `json:"variance_ratio_y_over_x"`
			Intercept, Slope float64
			SEI              float64 `json:"jackknife_se_intercept"`
			SES              float64 `json:"jackknife_se_slope"`
		}
	}
	readJSON(t, "deming_ten_pairs.json", &d)
	c := columns(t, "deming_ten_pairs.csv")
	a.set("ten pairs", 13, "variance ratios ¼, 1, 4; jackknife errors")
	for _, r := range d.Recomputed {
		l, err := Deming(c[0], c[1], r.Ratio)
		if err != nil {
			t.Fatal(err)
		}
		a.add("slope, intercept", l.Slope, r.Slope)
		a.add("slope, intercept", l.Intercept, r.Intercept)
		a.add("standard errors", l.SESlope, r.SES)
		a.add("standard errors", l.SEIntercept, r.SEI)
	}
	var f struct {
		Recomputed struct {
			Slope, Intercept float64
			SES              float64 `json:"se_slope"`
			SEI              float64 `json:"se_intercept"`
			SVV              float64 `json:"s_vv"`
		}
	}
	readJSON(t, "fuller_corn.json", &f)
	c = columns(t, "fuller_corn.csv")
	if l, err = Unattenuated(c[0], c[1], 57); err != nil {
		t.Fatal(err)
	}
	a.set("corn and nitrogen", 14, "Fuller 1987, Table 1.2.1, error variance of x 57")
	a.add("slope, intercept", l.Slope, f.Recomputed.Slope)
	a.add("slope, intercept", l.Intercept, f.Recomputed.Intercept)
	a.add("standard errors", l.SESlope, f.Recomputed.SES)
	a.add("standard errors", l.SEIntercept, f.Recomputed.SEI)
	a.add("χ²/DF", l.ChiSquare/float64(l.DF), f.Recomputed.SVV)
	return a
}

// chiSquareAt is the sum that a line with errors in both minimises, written out.
func chiSquareAt(x, y, ux, uy, r []float64, a, b float64) float64 {
	s := 0.0
	for i := range x {
		d := y[i] - a - b*x[i]
		s += d * d / (uy[i]*uy[i] + b*b*ux[i]*ux[i] - 2*b*r[i]*ux[i]*uy[i])
	}
	return s
}

// No line near York's may have a smaller sum, also with correlated errors.
func TestYorkIsTheMinimum(t *testing.T) {
	rng := Source(5)
	for trial := range 50 {
		n := 8
		x, y, ux, uy, r := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range x {
			ux[i], uy[i], r[i] = 0.05+rng.Float64()*0.4, 0.05+rng.Float64()*0.6, 1.6*rng.Float64()-0.8
			x[i] = float64(i) + ux[i]*rng.NormFloat64()
			y[i] = 1 + 0.7*float64(i) + uy[i]*rng.NormFloat64()
		}
		l, err := York(x, y, ux, uy, r)
		if err != nil {
			t.Fatal(err)
		}
		least := chiSquareAt(x, y, ux, uy, r, l.Intercept, l.Slope)
		needDigits(t, "χ²", l.ChiSquare, least, 12)
		for _, d := range [][2]float64{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, -1}, {-1, 1}} {
			a, b := l.Intercept+d[0]*1e-5*l.SEIntercept, l.Slope+d[1]*1e-5*l.SESlope
			if s := chiSquareAt(x, y, ux, uy, r, a, b); s < least-1e-13*least {
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
	k, err := York(x, y, make([]float64, len(x)), uy, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range []Line{g, k} {
		needDigits(t, "slope", l.Slope, f.Coef[1], 13)
		needDigits(t, "intercept", l.Intercept, f.Coef[0], 13)
		needDigits(t, "SE slope", l.SESlope, f.KnownSE(1), 13)
		needDigits(t, "SE intercept", l.SEIntercept, f.KnownSE(0), 13)
	}
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
	plain, _ := York(x, y, ux, uy, nil)
	needDigits(t, "slope with a shared error", s.Slope, plain.Slope, 12)
	needDigits(t, "its standard error", s.SESlope, plain.SESlope, 11)
	want := math.Sqrt(plain.SEIntercept*plain.SEIntercept + plain.Slope*plain.Slope*shared*shared)
	if math.Abs(s.SEIntercept/want-1) > 0.02 { // the centre moves a little with it
		t.Errorf("SE of the intercept %g, want about %g", s.SEIntercept, want)
	}
}

func TestLinesRefuse(t *testing.T) {
	x, y, u := []float64{1, 2, 3}, []float64{1, 2, 4}, []float64{0, 0, 0}
	if _, err := York(x, y, u, u, nil); !errors.Is(err, ErrNotPositive) {
		t.Errorf("no errors at all: %v", err)
	}
	if _, err := York([]float64{2, 2, 2}, y, u, []float64{1, 1, 1}, nil); !errors.Is(err, ErrRank) {
		t.Errorf("one x: %v", err)
	}
	if _, err := York(x[:2], y[:2], u[:2], []float64{1, 1}, nil); err == nil {
		t.Error("two points")
	}
	if _, err := GeneralLine(x, y, [][]float64{{1}, {1}, {1}}, nil); !errors.Is(err, ErrNotPositive) {
		t.Errorf("a covariance with short rows: %v", err)
	}
	if _, err := Unattenuated(x, y, 1); !errors.Is(err, ErrNoLine) {
		t.Errorf("x spreads no more than its error: %v", err)
	}
	if _, err := Deming(x, y, 0); err == nil {
		t.Error("ratio 0")
	}
	if _, err := Deming(x, []float64{1, 1, 1}, 1); err != nil {
		t.Errorf("a level line: %v", err)
	}
}
