package decide

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"knownwater/science/num"
)

// right is the mean of results without a bias.
func right(c float64) float64 { return c }

// JCGM 106:2012, clause 9: the global risks of decide.json, which two programs computed
// (quadrature, and rectangles of the bivariate normal distribution).
func TestRisk(t *testing.T) {
	var r struct {
		Global []struct {
			Name                  string
			Y0, U0, Um            float64
			Tolerance, Acceptance [2]float64
			Conforming            float64 `json:"prob_conforming"`
			Consumer              float64 `json:"consumer_risk"`
			Producer              float64 `json:"producer_risk"`
		} `json:"global_risk"`
	}
	b, err := os.ReadFile("testdata/decide.json")
	if err == nil {
		err = json.Unmarshal(b, &r)
	}
	if err != nil || len(r.Global) < 4 {
		t.Fatal(err, len(r.Global))
	}
	for _, c := range r.Global {
		prior := Prior{c.Y0 - 10*c.U0, c.Y0 + 10*c.U0, func(x float64) float64 { return num.NormalPDF((x-c.Y0)/c.U0) / c.U0 }}
		got := Risk(prior, right, func(float64) float64 { return c.Um }, c.Tolerance, c.Acceptance)
		for _, x := range [][2]float64{{got.Conforming, c.Conforming}, {got.Consumer, c.Consumer}, {got.Producer, c.Producer}, {got.Below + got.Above, c.Consumer}} {
			if !(math.Abs(x[0]-x[1]) <= 1e-9) {
				t.Errorf("%s: %.12g, want %.12g", c.Name, x[0], x[1])
			}
		}
	}
}

// By hand: waters evenly from 0 to 10, limit 5 from above only, u → 0 but for the acceptance
// limit at 4: one in ten waters is right and rejected, none is wrong and accepted.
func TestRiskByHand(t *testing.T) {
	got := Risk(Even(0, 10), right, func(float64) float64 { return 1e-9 }, [2]float64{math.Inf(-1), 5}, [2]float64{math.Inf(-1), 4})
	for _, x := range [][2]float64{{got.Conforming, 0.5}, {got.Accepted, 0.4}, {got.Producer, 0.1}, {got.Consumer, 0}} {
		if !(math.Abs(x[0]-x[1]) <= 1e-9) {
			t.Errorf("%+v", got)
		}
	}
}
