package series_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"knownwater/science/num"
	"knownwater/science/series"
)

// The walk at which R finds the likelihood largest is the largest here too, as high as it is there: irregular.json by a
// Kalman filter and optim in R, nile.json by the same and by StructTS (15098.58, 1469.147).
func TestLikelihoodIsLargestWhereRHasIt(t *testing.T) {
	var irregular struct {
		ML struct {
			Q      float64 `json:"q_R"`
			Loglik float64 `json:"loglik"`
		} `json:"maximum_likelihood_q"`
	}
	load(t, "irregular.json", &irregular)
	c := columns(t, "irregular.csv")
	var seen []series.Seen
	for i, y := range c[1] {
		seen = append(seen, exact(y, c[2][i]))
	}
	at := func(q float64) float64 {
		_, l := series.Walk{Days: c[0], PerDay: q}.Fit(seen, nil)
		return l
	}
	q := irregular.ML.Q
	near(t, "irregular: log-likelihood", at(q), irregular.ML.Loglik, 1e-9)
	near(t, "irregular: slope of it at the top", (at(q*1.001)-at(q/1.001))/(2*math.Log(1.001)), 0, 1e-6)
	if !(at(q*1.3) < at(q) && at(q/1.3) < at(q)) {
		t.Error("irregular: no top")
	}

	var nile struct {
		Recomputed struct {
			ML struct{ Irregular, Level, Loglik float64 }
		}
	}
	load(t, "nile.json", &nile)
	n := columns(t, "nile.csv")
	flow := func(noise, level float64) float64 {
		var seen []series.Seen
		for _, y := range n[1] {
			seen = append(seen, exact(y, math.Sqrt(noise)))
		}
		_, l := series.Walk{Days: n[0], PerDay: level}.Fit(seen, nil)
		return l
	}
	ml := nile.Recomputed.ML
	near(t, "Nile: log-likelihood", flow(ml.Irregular, ml.Level), ml.Loglik, 1e-8)
	for _, by := range [][2]float64{{1.02, 1}, {1 / 1.02, 1}, {1, 1.1}, {1, 1 / 1.1}} {
		if !(flow(ml.Irregular*by[0], ml.Level*by[1]) < ml.Loglik) {
			t.Errorf("Nile: likelier at %v times R's", by)
		}
	}
}

// Two results that share a part of their errors: the chance that the second is the larger, by the mixture over
// draws that changes of a log are judged by, against ../decide/testdata/decide.json (closed form, and integration in 30 digits).
func TestSharedPartsAsByIntegration(t *testing.T) {
	data, err := os.ReadFile("../decide/testdata/decide.json")
	if err != nil {
		t.Fatal(err)
	}
	var want struct {
		Prob []struct {
			MeanA  float64 `json:"mean_A"`
			OwnA   float64 `json:"u_own_A"`
			MeanB  float64 `json:"mean_B"`
			OwnB   float64 `json:"u_own_B"`
			Shared float64 `json:"u_shared"`
			ByB    float64 `json:"sensitivity_B_to_shared"`
			U      float64 `json:"u_difference"`
			P      float64 `json:"prob_B_above_A"`
		} `json:"prob_B_above_A"`
	}
	if err := json.Unmarshal(data, &want); err != nil || len(want.Prob) < 3 {
		t.Fatal(len(want.Prob), err)
	}
	const draws = 128
	for _, w := range want.Prob {
		var e series.Estimate
		for d := range draws {
			z := num.PhiInv((float64(d) + 0.5) / draws)
			e.Add(1, w.MeanB-w.MeanA-(w.ByB-1)*w.Shared*z, math.Hypot(w.OwnA, w.OwnB))
		}
		e.Summarise()
		tolerance := 2e-3 // of 128 places
		if w.ByB == 1 || w.Shared == 0 {
			tolerance = 1e-12 // it falls out
		}
		near(t, "chance of a rise", 1-e.Below(0), w.P, tolerance)
		near(t, "standard uncertainty", e.U, w.U, 10*tolerance)
	}
}
