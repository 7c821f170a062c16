package num

import (
	"fmt"
	"math"
	"testing"
)

func TestStudentAgainstExact(t *testing.T) {
	v, _ := rows(t, "t_exact.csv")
	for _, r := range v {
		df, x, tail, body := r[0], r[1], r[2], r[3]
		at := fmt.Sprintf("(%g, %g)", x, df)
		needDigits(t, "lower tail"+at, TCDF(-x, df), tail, 12.2)
		needDigits(t, "TCDF"+at, TCDF(x, df), 1-tail, 12.2)
		needDigits(t, "logTBody"+at, math.Exp(logTBody(x, df)), body, 12)
		if tail < 0.4 {
			needDigits(t, "TQuantile of the tail"+at, TQuantile(tail, df), -x, 12)
		} else if body > 1e-4 { // below, 0.5 + body has lost its digits
			needDigits(t, "TQuantile near the middle"+at, TQuantile(0.5+body, df), x, 11)
		}
	}
}

func TestStudentFarAndEdges(t *testing.T) {
	// Cauchy (df = 1) and df = 2 have closed quantiles.
	for _, p := range []float64{1e-300, 1e-100, 1e-20, 1e-8, 0.001, 0.2, 0.3, 0.49, 0.4999} {
		needDigits(t, fmt.Sprintf("TQuantile(%g, 1)", p), TQuantile(p, 1), -1/math.Tan(math.Pi*p), 11)
		needDigits(t, fmt.Sprintf("TQuantile(%g, 2)", p), TQuantile(p, 2), -(1-2*p)/math.Sqrt(2*p*(1-p)), 12)
		needDigits(t, fmt.Sprintf("TQuantile(%g, Inf)", p), TQuantile(p, math.Inf(1)), PhiInv(p), 15)
		needDigits(t, fmt.Sprintf("TQuantile(%g, 1e12)", p), TQuantile(p, 1e12), PhiInv(p), 8.5)
	}
	for _, df := range []float64{0.7, 3, 50, 999, 1001, 1e6} {
		for p := 1e-305; p < 0.5; p *= 31 {
			if math.IsInf(TQuantile(p, df), -1) && df < 1 {
				continue // the quantile is beyond 1e308
			}
			needDigits(t, fmt.Sprintf("TCDF(TQuantile(%g, %g))", p, df), TCDF(TQuantile(p, df), df), p, 9)
		}
	}
	if q := TQuantile(0, 5); !math.IsInf(q, -1) {
		t.Errorf("TQuantile(0) = %g", q)
	}
	if q := TQuantile(1, 5); !math.IsInf(q, 1) {
		t.Errorf("TQuantile(1) = %g", q)
	}
	for _, q := range []float64{TQuantile(-0.1, 5), TQuantile(0.3, 0), TQuantile(0.3, math.NaN()), TCDF(math.NaN(), 3), TCDF(1, -1)} {
		if !math.IsNaN(q) {
			t.Errorf("want NaN, got %g", q)
		}
	}
}

func TestChiSquareAgainstExact(t *testing.T) {
	v, _ := rows(t, "chi2_exact.csv")
	for _, r := range v {
		df, x, lower, upper := r[0], r[1], r[2], r[3]
		at := fmt.Sprintf("(%g, %g)", x, df)
		needDigits(t, "ChiSquareCDF"+at, ChiSquareCDF(x, df), lower, 12.5)
		needDigits(t, "ChiSquareSurvival"+at, ChiSquareSurvival(x, df), upper, 12.5)
		if lower < 0.999 {
			needDigits(t, "ChiSquareQuantile"+at, ChiSquareQuantile(lower, df), x, 12)
		}
	}
	for _, p := range []float64{1e-307, 1e-300, 1e-15, 0.5, 1 - 1e-15} {
		needDigits(t, fmt.Sprintf("df 2, p %g", p), ChiSquareQuantile(p, 2), -2*math.Log1p(-p), 12)
		if q := ChiSquareQuantile(p, 0.01); math.IsNaN(q) || q < 0 {
			t.Errorf("ChiSquareQuantile(%g, 0.01) = %g", p, q)
		}
	}
}

func TestFAgainstExact(t *testing.T) {
	v, _ := rows(t, "f_exact.csv")
	for _, r := range v {
		d1, d2, f, lower, upper := r[0], r[1], r[2], r[3], r[4]
		at := fmt.Sprintf("(%g, %g, %g)", f, d1, d2)
		needDigits(t, "FSurvival"+at, FSurvival(f, d1, d2), upper, 12)
		needDigits(t, "lower tail of F"+at, fCDF(f, d1, d2), lower, 12)
		if lower <= 0.99 {
			needDigits(t, "FQuantile"+at, FQuantile(lower, d1, d2), f, 10)
		}
		if upper <= 0.99 {
			needDigits(t, "1/FQuantile"+at, 1/FQuantile(upper, d2, d1), f, 10)
		}
	}
	needDigits(t, "FSurvival at d2 = Inf", FSurvival(2.1, 3, math.Inf(1)), ChiSquareSurvival(6.3, 3), 14)
}

func TestNoncentralTAgainstExact(t *testing.T) {
	v, _ := rows(t, "noncentral_t_exact.csv")
	for _, r := range v {
		got := NoncentralTCDF(r[2], r[0], r[1])
		if !(math.Abs(got-r[3]) < 2e-14) {
			t.Errorf("NoncentralTCDF(%g, %g, %g) = %.17g, want %.17g", r[2], r[0], r[1], got, r[3])
		}
	}
}

// δ(α = β = 0.05) of ISO 11843-2:2000, its table, to the three decimals printed.
func TestDetectionDelta(t *testing.T) {
	v, _ := rows(t, "iso11843_2_delta.csv")
	for _, r := range v {
		got := NoncentralTDelta(0.05, TQuantile(0.95, r[0]), r[0])
		if !(math.Abs(got-r[1]) <= 0.0005001) {
			t.Errorf("δ for %g degrees of freedom = %.5f, printed %.3f", r[0], got, r[1])
		}
	}
}

// distributionAccuracy is the worst case of each function over its file of
// values in 30 to 400 digits.
func distributionAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Distributions, the worst of each file of values", "digits")
	each := func(name, file, note string, got func(r []float64) (got, want float64)) {
		v, _ := rows(t, file)
		a.set(name, 15, note)
		for _, r := range v {
			if g, w := got(r); !math.IsNaN(w) {
				a.add("digits", g, w)
			}
		}
	}
	only := func(ok bool, got, want float64) (float64, float64) {
		if !ok {
			want = math.NaN()
		}
		return got, want
	}
	each("`Phi`", "normal_exact.csv", "x −38 … 37", func(r []float64) (float64, float64) { return only(r[1] > 1e-300, Phi(r[0]), r[1]) })
	each("`LogPhi`", "normal_exact.csv", "x −10⁶ … 37", func(r []float64) (float64, float64) { return LogPhi(r[0]), r[2] })
	each("`LogPhiDiff`", "phidiff_exact.csv", "middles 0 … 10⁵, widths 10⁻¹² … 30", func(r []float64) (float64, float64) { return LogPhiDiff(r[0], r[1]), r[2] })
	each("`TCDF`", "t_exact.csv", "df ½ … 10⁸, lower tail", func(r []float64) (float64, float64) { return TCDF(-r[1], r[0]), r[2] })
	each("`TQuantile`", "t_exact.csv", "p below 0.4", func(r []float64) (float64, float64) { return only(r[2] < 0.4, TQuantile(r[2], r[0]), -r[1]) })
	each("`ChiSquareCDF`", "chi2_exact.csv", "df ½ … 400, down to 10⁻²⁵⁰", func(r []float64) (float64, float64) { return ChiSquareCDF(r[1], r[0]), r[2] })
	each("`ChiSquareSurvival`", "chi2_exact.csv", "the same", func(r []float64) (float64, float64) { return ChiSquareSurvival(r[1], r[0]), r[3] })
	each("`ChiSquareQuantile`", "chi2_exact.csv", "p below 0.999", func(r []float64) (float64, float64) { return only(r[2] < 0.999, ChiSquareQuantile(r[2], r[0]), r[1]) })
	each("`FSurvival`", "f_exact.csv", "df 1 … 200, f 10⁻¹⁰ … 10⁹", func(r []float64) (float64, float64) { return FSurvival(r[2], r[0], r[1]), r[4] })
	each("`FQuantile`", "f_exact.csv", "p up to 0.99", func(r []float64) (float64, float64) { return only(r[3] <= 0.99, FQuantile(r[3], r[0], r[1]), r[2]) })
	each("`NoncentralTCDF`", "noncentral_t_exact.csv", "df 1 … 1000, δ −190 … 300", func(r []float64) (float64, float64) { return NoncentralTCDF(r[2], r[0], r[1]), r[3] })
	return a
}

// No argument may make a distribution panic, hang, or leave 0 … 1.
func TestDistributionsTakeAnything(t *testing.T) {
	odd := []float64{math.NaN(), math.Inf(-1), -1e308, -3, -1e-310, 0, 5e-324, 1e-300, 1e-9, 0.3, 0.5, 1 - 1e-16, 1, 2.5, 40, 1e5, 1e9, 1e17, 1e300, math.MaxFloat64, math.Inf(1)}
	probability := func(name string, p float64, at ...float64) {
		if p < -1e-12 || p > 1+1e-12 {
			t.Errorf("%s%v = %g", name, at, p)
		}
	}
	for _, a := range odd {
		probability("Phi", Phi(a), a)
		PhiInv(a)
		if v := LogPhi(a); v > 0 {
			t.Errorf("LogPhi(%g) = %g", a, v)
		}
		for _, b := range odd {
			if v := LogPhiDiff(a, b); v > 1e-15 {
				t.Errorf("LogPhiDiff(%g, %g) = %g", a, b, v)
			}
			probability("TCDF", TCDF(a, b), a, b)
			probability("ChiSquareCDF", ChiSquareCDF(a, b), a, b)
			probability("ChiSquareSurvival", ChiSquareSurvival(a, b), a, b)
			TPDF(a, b)
			TQuantile(a, b)
			if q := ChiSquareQuantile(a, b); q < 0 {
				t.Errorf("ChiSquareQuantile(%g, %g) = %g", a, b, q)
			}
			for _, c := range odd {
				probability("FSurvival", FSurvival(a, b, c), a, b, c)
				probability("lower tail of F", fCDF(a, b, c), a, b, c)
				if q := FQuantile(a, b, c); q < 0 {
					t.Errorf("FQuantile(%g, %g, %g) = %g", a, b, c, q)
				}
				if math.Abs(a) < 1e3 && b < 1e6 && math.Abs(c) < 1e3 { // the range it is meant for
					probability("NoncentralTCDF", NoncentralTCDF(a, b, c), a, b, c)
				}
			}
		}
	}
}

// Every quantile leads back to its chance, whatever the degrees of freedom.
func TestQuantilesLeadBack(t *testing.T) {
	for df := 1.0; df < 200; df += 0.5 {
		for _, p := range []float64{0.001, 0.01, 0.025, 0.04, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975, 0.99} {
			if got := ChiSquareCDF(ChiSquareQuantile(p, df), df); !(math.Abs(got-p) < 1e-12) {
				t.Errorf("chi-square with %v degrees of freedom: the quantile of %v has the chance %v", df, p, got)
			}
			if got := TCDF(TQuantile(p, df), df); !(math.Abs(got-p) < 1e-12) {
				t.Errorf("t with %v degrees of freedom: the quantile of %v has the chance %v", df, p, got)
			}
		}
	}
}

// fCDF is P(F ≤ f): the other tail of the reciprocal.
func fCDF(f, d1, d2 float64) float64 {
	if f <= 0 && d1 >= leastDF && d2 >= leastDF {
		return 0
	}
	return FSurvival(1/f, d2, d1)
}
