package curve

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"knownwater/science/response"
)

var plain = Options{Shape: Line, Weights: Equal, Sure: true}

// Sources: testdata/SOURCES.md.

// Certified by NIST StRD to 15 digits.
func TestNIST(t *testing.T) {
	for _, tc := range []struct {
		set string
		o   Options
	}{
		{"Norris", plain},
		{"Pontius", Options{Shape: Quadratic, Weights: Equal, Sure: true}},
		{"NoInt1", Options{Shape: Line, Weights: Equal, ThroughZero: true, Sure: true}},
		{"NoInt2", Options{Shape: Line, Weights: Equal, ThroughZero: true, Sure: true}},
	} {
		t.Run(tc.set, func(t *testing.T) {
			c := mustFit(t, pointsFrom(t, tc.set+".csv", "x", "y"), tc.o)
			want := values(t, tc.set+".json")
			first := 0
			if tc.o.ThroughZero {
				first = 1
				if c.Coef[0] != 0 || c.SE(0) != 0 {
					t.Error("a forced zero moved")
				}
			}
			for j := range want["parameters"].([]any) {
				near(t, "coefficient", c.Coef[j+first], dig(t, want, "parameters", j, "estimate"), 1e-11)
				near(t, "standard error", c.SE(j+first), dig(t, want, "parameters", j, "sd"), 1e-11)
			}
			near(t, "residual SD", c.ResidualSD, dig(t, want, "residual_sd"), 1e-11)
			near(t, "R²", c.R2, dig(t, want, "r_squared"), 1e-12)
		})
	}
}

// Eurachem/CITAC CG4 (2012), A5: c0 = 0.26, u = 0.018, and what follows from its data.
func TestQUAMA5(t *testing.T) {
	c := mustFit(t, pointsFrom(t, "quam_a5_calibration.csv", "conc_mg_per_L", "absorbance"), plain)
	q := values(t, "quam_a5.json")
	d := values(t, "quam_a5_derived.json")
	near(t, "b1", c.Coef[1], dig(t, q, "recomputed", "b1"), 1e-12)
	near(t, "b0", c.Coef[0], dig(t, q, "recomputed", "b0"), 1e-12)
	near(t, "s(b1)", c.SE(1), dig(t, q, "recomputed", "s_b1"), 1e-12)
	near(t, "s(b0)", c.SE(0), dig(t, q, "recomputed", "s_b0"), 1e-12)
	near(t, "cov", c.Cov[0][1], dig(t, d, "recomputed", "cov_ab"), 1e-12)
	near(t, "S", c.ResidualSD, dig(t, q, "recomputed", "S"), 1e-12)
	near(t, "R²", c.R2, dig(t, d, "recomputed", "r_squared"), 1e-12)
	near(t, "lack of fit", c.LackOfFit, dig(t, d, "lack_of_fit", "p"), 1e-10)

	r := c.Read(Sample{Signals: []float64{0.0714, 0.0710}})
	printed(t, "c0", r.Level, 0.26, 0.01)
	printed(t, "u(c0)", r.U, 0.018, 0.001)
	near(t, "c0", r.Level, dig(t, d, "inverse", 0, "x0"), 1e-12)
	near(t, "u(c0)", r.U, dig(t, d, "inverse", 0, "s_x0"), 1e-12)
	near(t, "low", r.Low, dig(t, d, "inverse", 0, "fieller95", 0), 1e-9)
	near(t, "high", r.High, dig(t, d, "inverse", 0, "fieller95", 1), 1e-9)
	limits(t, c, d)
}

// limits are those of ISO 11843-2 on the same data.
func limits(t *testing.T, c Curve, d map[string]any) {
	t.Helper()
	l := c.Limits(1)
	near(t, "critical signal", l.CriticalSignal, dig(t, d, "limits", "y_critical"), 1e-9)
	near(t, "critical", l.Critical, dig(t, d, "limits", "x_critical"), 1e-9)
	near(t, "detection", l.Detection, dig(t, d, "limits", "x_detection_iso11843"), 1e-8)
	if !(l.Quantification >= l.Detection) && !math.IsNaN(l.Quantification) {
		t.Errorf("quantified at %g, below detection %g", l.Quantification, l.Detection)
	}
}

// Miller & Miller, ch. 5, fluorescein: printed inverse predictions 0.72 ± 0.68,
// 6.21 ± 0.62, 11.13 ± 0.68 and their exact Fieller intervals.
func TestFluorescein(t *testing.T) {
	c := mustFit(t, pointsFrom(t, "miller_fluorescein.csv", "conc_pg_per_mL", "intensity"), plain)
	d := values(t, "miller_fluorescein.json")
	printed(t, "slope", c.Coef[1], 1.93, 0.01)
	printed(t, "intercept", c.Coef[0], 1.52, 0.01)
	printed(t, "s", c.ResidualSD, 0.4329, 0.0002) // 0.43285; the book rounds on the way
	readsBack(t, c, d)
	limits(t, c, d)
	for i, y := range []float64{2.9, 13.5, 23} {
		r := c.Read(Sample{Signals: []float64{y}})
		printed(t, "x0", r.Level, dig(t, d, "published", "inverse_m1", i, "x0"), 0.01)
		printed(t, "s(x0)", r.U, dig(t, d, "published", "inverse_m1", i, "s"), 0.01)
	}
}

func readsBack(t *testing.T, c Curve, d map[string]any) {
	t.Helper()
	for i := range d["inverse"].([]any) {
		m := int(dig(t, d, "inverse", i, "m"))
		s := Sample{}
		for range m {
			s.Signals = append(s.Signals, dig(t, d, "inverse", i, "y0"))
		}
		r := c.Read(s)
		near(t, "x0", r.Level, dig(t, d, "inverse", i, "x0"), 1e-11)
		near(t, "s(x0)", r.U, dig(t, d, "inverse", i, "s_x0"), 1e-11)
		near(t, "low", r.Low, dig(t, d, "inverse", i, "fieller95", 0), 1e-8)
		near(t, "high", r.High, dig(t, d, "inverse", i, "fieller95", 1), 1e-8)
	}
}

// ISO 8466-1:1990, clause 5: nitrite; Mandel's test against the quadratic there
// agrees that a line is enough.
func TestNitrite(t *testing.T) {
	points := pointsFrom(t, "iso8466_nitrite.csv", "conc_mg_per_L", "absorbance")
	c := mustFit(t, points, plain)
	d := values(t, "iso8466_nitrite.json")
	printed(t, "slope", c.Coef[1], 2.575, 0.001)
	printed(t, "intercept", c.Coef[0], 0.018, 0.001)
	printed(t, "s_y", c.ResidualSD, 0.005, 0.001)
	printed(t, "s_x0", c.ResidualSD/c.Coef[1], 0.002, 0.001)
	readsBack(t, c, d)
	limits(t, c, d)
	q := mustFit(t, points, Options{Shape: Quadratic, Weights: Equal})
	for j := range q.Coef {
		near(t, "quadratic", q.Coef[j], dig(t, d, "recomputed", "quadratic", "coef", j), 1e-9)
		near(t, "quadratic se", q.SE(j), dig(t, d, "recomputed", "quadratic", "se", j), 1e-9)
	}
	if auto := mustFit(t, points, Options{Light: true}); auto.Shape != Line {
		t.Errorf("chose %s: %s", auto.Shape, auto.Why.Code)
	}
}

// Miller & Miller, ch. 5: weights 1/sd² that are given, and given weights for
// the unknowns. The variance is one of its own here, so it is put in by hand.
func TestWeighted(t *testing.T) {
	col := columns(t, "miller_weighted.csv", "conc_ug_per_mL", "absorbance", "sd")
	d := values(t, "miller_weighted.json")
	u := mustFit(t, pointsOf(col[0], col[1]), plain)
	near(t, "unweighted slope", u.Coef[1], dig(t, d, "recomputed", "unweighted", "slope"), 1e-12)
	for i, y := range []float64{0.1, 0.6} {
		r := u.Read(Sample{Signals: []float64{y}})
		near(t, "unweighted x0", r.Level, dig(t, d, "recomputed", "unweighted_inverse", i, "x0"), 1e-12)
		near(t, "unweighted s", r.U, dig(t, d, "recomputed", "unweighted_inverse", i, "s_x0"), 1e-11)
		near(t, "unweighted low", r.Low, dig(t, d, "recomputed", "unweighted_inverse", i, "fieller95", 0), 1e-8)
	}

	pr := problem{levels: reduce(pointsOf(col[0], col[1]))}
	v := make([]float64, len(col[2]))
	for i := range v {
		v[i] = 1 / dig(t, d, "weights", i)
	}
	s, err := pr.solve(response.Of(Line), v, nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope", s.coef[1], dig(t, d, "recomputed", "weighted", "slope"), 1e-12)
	near(t, "intercept", s.coef[0], dig(t, d, "recomputed", "weighted", "intercept"), 1e-11)
	near(t, "s", s.size, dig(t, d, "recomputed", "weighted", "s_yx_w"), 1e-11)
	near(t, "se slope", math.Sqrt(s.noise[1][1]), dig(t, d, "recomputed", "weighted", "se_slope"), 1e-11)
	near(t, "cov", s.noise[0][1], dig(t, d, "recomputed", "weighted", "cov_ab"), 1e-11)
	c := Curve{Coef: s.coef, ResidualSD: s.size, DF: s.df, form: response.Of(Line), Range: Range{LevelHigh: 10}}
	for i, y := range []float64{0.1, 0.6} {
		w0 := dig(t, d, "recomputed", "weighted_inverse", i, "w0")
		w := Weighting{Mass: 1, Steady: 1, Growing: 1, Variance: variance{Weights: OverX, Floor: 1 / w0}}
		w.take(s)
		w.Variance.Floor = math.Max(1/w0, 10) // the same weight wherever the unknown may lie
		w.Size *= math.Sqrt(1 / w0 / w.Variance.Floor)
		c.Weightings = []Weighting{w}
		q := query{Curve: c, y: y, m: 1}
		x, _ := q.centre()
		se, _ := q.uncertainty(x)
		near(t, "x0", x, dig(t, d, "recomputed", "weighted_inverse", i, "x0"), 1e-11)
		near(t, "s(x0)", se, dig(t, d, "recomputed", "weighted_inverse", i, "s_x0"), 1e-11)
	}
}

// JCGM 100:2008, H.3: the correction of a thermometer as a line in t − 20.
func TestGUMH3(t *testing.T) {
	col := columns(t, "gum_h3_thermometer.csv", "t_degC", "correction_degC")
	for i := range col[0] {
		col[0][i] -= 20
	}
	c := mustFit(t, pointsOf(col[0], col[1]), plain)
	d := values(t, "gum_h3.json")
	near(t, "y1", c.Coef[0], dig(t, d, "recomputed", "y1"), 1e-12)
	near(t, "y2", c.Coef[1], dig(t, d, "recomputed", "y2"), 1e-11)
	near(t, "u(y1)", c.SE(0), dig(t, d, "recomputed", "u_y1"), 1e-11)
	near(t, "u(y2)", c.SE(1), dig(t, d, "recomputed", "u_y2"), 1e-11)
	near(t, "s", c.ResidualSD, dig(t, d, "recomputed", "s"), 1e-11)
	near(t, "r", c.Cov[0][1]/c.SE(0)/c.SE(1), dig(t, d, "recomputed", "r"), 1e-11)
	near(t, "b(30)", c.At(10), dig(t, d, "recomputed", "correction_at_30"), 1e-12)
	near(t, "u(b(30))", math.Sqrt(square(c.Cov, []float64{1, 10})), dig(t, d, "recomputed", "u_correction_at_30"), 1e-11)
}

// Pearson's data with York's weights: errors in level and signal of every point
// (York et al. 2004). Signals with errors of their own are put in as variances
// of size 1.
func TestYork(t *testing.T) {
	col := columns(t, "pearson_york.csv", "x", "y", "weight_x", "weight_y")
	d := values(t, "pearson_york.json")
	points := pointsOf(col[0], col[1])
	v := make([]float64, len(points))
	for i := range points {
		points[i].ULevel = 1 / math.Sqrt(col[2][i])
		v[i] = 1 / col[3][i]
	}
	pr := problem{levels: reduce(points)}
	pr.known = pr.levels.known(0)
	s, err := pr.withSize(response.Of(Line), v, []float64{5.4, -0.5}, 1, 8)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope", s.coef[1], dig(t, d, "recomputed", "slope"), 1e-12)
	near(t, "intercept", s.coef[0], dig(t, d, "recomputed", "intercept"), 1e-12)
	all := plus(s.noise, s.known)
	near(t, "se slope", math.Sqrt(all[1][1]), dig(t, d, "recomputed", "se_slope"), 1e-9)
	near(t, "se intercept", math.Sqrt(all[0][0]), dig(t, d, "recomputed", "se_intercept"), 1e-9)
	near(t, "S", s.miss, dig(t, d, "recomputed", "S"), 1e-9)
}

// Puromycin, Bates & Watts 1988, A1.3: rate = 212.7·c/(0.06412 + c), printed
// standard errors 6.947 and 0.00828, residual SD 10.93 (treated).
func TestPuromycin(t *testing.T) {
	f, err := os.Open("testdata/puromycin.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var x, y []float64
	for _, r := range rows[1:] {
		if r[2] == "treated" {
			c, _ := strconv.ParseFloat(r[0], 64)
			v, _ := strconv.ParseFloat(r[1], 64)
			x, y = append(x, c), append(y, v)
		}
	}
	c := mustFit(t, pointsOf(x, y), Options{Shape: Saturating, Weights: Equal, ThroughZero: true})
	k := 1 / c.Coef[2]
	printed(t, "Vmax", c.Coef[1]*k, 212.7, 0.1)
	printed(t, "K", k, 0.06412, 0.00001)
	printed(t, "s", c.ResidualSD, 10.93, 0.01)
	printed(t, "u(K)", c.SE(2)*k*k, 0.00828, 0.00001)
	g := []float64{0, k, -c.Coef[1] * k * k} // ∂(b1/b2)
	printed(t, "u(Vmax)", math.Sqrt(square(c.Cov, g)), 6.947, 0.001)
}
