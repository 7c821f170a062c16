package num

import (
	"math"
	"slices"
	"testing"
)

func gumAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Uncertainty guides", "results", "uncertainties")
	var h3 struct {
		Recomputed struct {
			Y1  float64 `json:"y1"`
			U1  float64 `json:"u_y1"`
			Y2  float64 `json:"y2"`
			U2  float64 `json:"u_y2"`
			R   float64
			S   float64
			B30 float64 `json:"correction_at_30"`
			U30 float64 `json:"u_correction_at_30"`
		}
	}
	readJSON(t, "gum/gum_h3.json", &h3)
	w := h3.Recomputed
	v, _ := rows(t, "gum/gum_h3_thermometer.csv")
	var x, y []float64
	for _, r := range v {
		x, y = append(x, r[1]-20), append(y, r[2])
	}
	f, err := Polynomial(x, y, nil, 1)
	if err != nil {
		t.Fatal(err)
	}
	a.set("GUM H.3", 14, "JCGM 100:2008, thermometer line; printed to 3, recomputed to 14")
	a.add("results", f.Coef[0], w.Y1)
	a.add("results", f.Coef[1], w.Y2)
	a.add("results", f.Coef[0]+10*f.Coef[1], w.B30)
	a.add("uncertainties", f.SE(0), w.U1)
	a.add("uncertainties", f.SE(1), w.U2)
	a.add("uncertainties", f.SD, w.S)
	a.add("uncertainties", f.Cov[0][1]/f.SE(0)/f.SE(1), w.R)
	a.add("uncertainties", math.Sqrt(f.Cov[0][0]+100*f.Cov[1][1]+20*f.Cov[0][1]), w.U30)
	return a
}

// draws of a model, sorted.
func draws(n int, seed uint64, model func(normal, flat func() float64) float64) []float64 {
	rng := Source(seed)
	flat := func() float64 { return math.Sqrt(12) * (rng.Float64() - 0.5) } // mean 0, SD 1
	out := make([]float64, n)
	for i := range out {
		out[i] = model(rng.NormFloat64, flat)
	}
	slices.Sort(out)
	return out
}

// JCGM 101:2008, 9.2 and 9.3, by seeded draws. Limits are three to four standard
// errors of 400 000 draws (of a 2.5 % quantile: √(0.025·0.975/n)/φ(1.96) = 0.0042
// of the SD for a normal sum, less for the others); the exact figures come from
// the Irwin–Hall distribution and quadrature.
func TestMonteCarloExamples(t *testing.T) {
	const n = 400_000
	near := func(what string, got, want, limit float64) {
		t.Helper()
		if !(math.Abs(got-want) <= limit) {
			t.Errorf("%s = %.5f, want %.5f ± %.5f", what, got, want, limit)
		}
	}
	var raw map[string]any
	readJSON(t, "gum/jcgm101_9_2.json", &raw)
	exact := func(name string) (u, high float64) {
		e := raw[name].(map[string]any)["exact"].(map[string]any)
		return e["u"].(float64), e["interval95"].([]any)[1].(float64)
	}
	for _, c := range []struct {
		name  string
		model func(normal, flat func() float64) float64
	}{
		{"case_9_2_2", func(z, _ func() float64) float64 { return z() + z() + z() + z() }},
		{"case_9_2_3", func(_, r func() float64) float64 { return r() + r() + r() + r() }},
		{"case_9_2_4", func(_, r func() float64) float64 { return r() + r() + r() + 10*r() }},
	} {
		u, high := exact(c.name)
		y := draws(n, 92, c.model)
		mean, sd := MeanSD(y)
		near(c.name+" mean", mean, 0, 3.5*u/math.Sqrt(n))
		near(c.name+" SD", sd, u, 3*u/math.Sqrt(2*n))
		near(c.name+" low", Quantile(y, 0.025), -high, 0.015*u)
		near(c.name+" high", Quantile(y, 0.975), high, 0.015*u)
	}
	var mass struct {
		Recomputed struct {
			SD float64 `json:"exact_sd"`
			MC struct {
				Shortest []float64 `json:"shortest95"`
			} `json:"mc_1e7"`
		}
	}
	readJSON(t, "gum/jcgm101_9_3.json", &mass)
	root3 := math.Sqrt(3)
	y := draws(n, 93, func(z, r func() float64) float64 {
		air := 1.2 + 0.1/root3*r()
		water, weight := 8000+1000/root3*r(), 8000+50/root3*r()
		return (100000+0.05*z()+1.234+0.02*z())*(1+(air-1.2)*(1/water-1/weight)) - 100000
	})
	mean, sd := MeanSD(y)
	near("9.3 mean", mean, 1.2341, 0.0005)
	near("9.3 SD", sd, mass.Recomputed.SD, 0.00035)
}
