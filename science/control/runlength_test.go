package control

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"knownwater/science/interval"
)

// rows of a table of testdata (see SOURCES.md there), by the names of its columns.
func rows(t *testing.T, name string) (out []map[string]string) {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil || len(all) < 2 {
		t.Fatal(name, err)
	}
	for _, r := range all[1:] {
		m := map[string]string{}
		for i, h := range all[0] {
			m[h] = r[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[column], 64)
	if err != nil {
		t.Fatalf("column %q: %v in %v", column, err, row)
	}
	return v
}

// within says where two numbers lie further apart than a share of the second.
func within(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.12g, want %.12g to %g", what, got, want, share)
	}
}

func TestIndividuals(t *testing.T) {
	for _, r := range rows(t, "arl_shewhart.csv") {
		within(t, "individuals", Individuals(number(t, r, "limit_sigma"), Normal{number(t, r, "shift_sigma"), 1}), number(t, r, "arl_exact"), 1e-8)
	}
}

// Against the R package spc and a Markov chain, which agree to 5e-10.
func TestCUSUMAgainstGrid(t *testing.T) {
	for _, r := range rows(t, "arl_cusum_grid.csv") {
		c := CUSUM{K: number(t, r, "k"), H: number(t, r, "h")}
		n := Normal{number(t, r, "shift_sigma"), 1}
		within(t, "upper", c.RunLength(n), number(t, r, "arl_upper_spc"), 1e-8)
		within(t, "both", c.BothSides(n), number(t, r, "arl_two_sided_spc"), 1e-8)
	}
}

// Printed run lengths, with head start among them.
func TestCUSUMPrinted(t *testing.T) {
	for _, r := range rows(t, "arl_cusum.csv") {
		c := CUSUM{K: number(t, r, "k"), H: number(t, r, "h"), Start: number(t, r, "head_start")}
		within(t, "both", c.BothSides(Normal{number(t, r, "shift_sigma"), 1}), number(t, r, "arl_two_sided"), 1e-6)
	}
}

func TestEWMA(t *testing.T) {
	for _, r := range rows(t, "arl_ewma_grid.csv") {
		e := EWMA{number(t, r, "lambda"), number(t, r, "L")}
		within(t, "EWMA", e.RunLength(Normal{number(t, r, "shift_sigma"), 1}), number(t, r, "arl_constant_limits_spc"), 1e-8)
	}
	for _, r := range rows(t, "arl_ewma.csv") {
		e := EWMA{number(t, r, "lambda"), number(t, r, "L")}
		within(t, "EWMA", e.RunLength(Normal{number(t, r, "shift_sigma"), 1}), number(t, r, "arl_recomputed"), 1e-6)
	}
}

// steps of a made-up chart, its scores aimed at 1.
func steps(t *testing.T, chart string, shift float64) (out []Step) {
	for _, r := range rows(t, "grouped_categories.csv") {
		if r["chart"] == chart && number(t, r, "delta") == shift {
			out = append(out, Step{number(t, r, "probability"), number(t, r, "score_log_ratio_delta1_1")})
		}
	}
	return out
}

// A sum of steps: against a chain on 1/2000 of a nat, and simulations of unrounded scores.
func TestStepsAgainstReference(t *testing.T) {
	worst := 0.0
	for _, r := range rows(t, "arl_grouped_cusum.csv") {
		s := steps(t, r["chart"], number(t, r, "shift_sigma"))
		got := Scores{H: number(t, r, "h_nat")}.RunLength(s)
		name := r["chart"] + " " + r["h_nat"] + " " + r["shift_sigma"]
		want := number(t, r, "arl_scores_per_2000_markov")
		within(t, name, got, want, 0.014) // a score that ends between two cells goes to both
		worst = math.Max(worst, math.Abs(got/want-1))
		if r["arl_unrounded_scores_simulated"] != "" {
			if sim, se := number(t, r, "arl_unrounded_scores_simulated"), number(t, r, "se_unrounded"); !(math.Abs(got-sim) <= 4*se+0.014*sim) {
				t.Errorf("%s: %g, simulated %g ± %g", name, got, sim, se)
			}
		}
		h := Scores{H: number(t, r, "h_nat")}.Within(s, 4000)
		alive := 1.0
		for _, p := range h {
			alive += 1 - p
		}
		if got < 400 { // the mean is the sum of the chances to have no signal yet
			within(t, name+" by its chances", alive, got, 1e-3)
		}
	}
	t.Logf("furthest from the chain: %.2g", worst)
}

// Sums that both ring at once, where the exact rule would come out at nothing.
func TestTwoSidedIsNeverNothing(t *testing.T) {
	if l := TwoSided(1, 2, 1, 2); l != 1 {
		t.Errorf("%g", l)
	}
	inf := math.Inf(1)
	if a, b, c := TwoSided(3, inf, 4, 5), TwoSided(3, 6, inf, inf), TwoSided(inf, inf, inf, inf); a != 4 || b != 3 || !math.IsInf(c, 1) {
		t.Errorf("%g %g %g", a, b, c)
	}
	// of charts that hardly ever ring products of run lengths are no numbers any more
	if l := TwoSided(1e200, 2e200, 1e180, 1e180); !(math.Abs(l/5e179-1) < 1e-9) {
		t.Errorf("%g", l)
	}
	// one step tells nearly everything: limits are found or refused, never a panic
	wide := Row{Tiles: []interval.Interval{interval.Below(3), {Low: 3, High: 40}, interval.Above(40)}, Checks: []Check{{interval.Below(3), known(0.9)}}}
	Of(wide, nil)
}

// A step that rings by itself.
func TestRareSteps(t *testing.T) {
	cuts := map[string][]float64{"three_cuts_0.5": {-.5, .5}, "five_cuts_0.5_1.5": {-1.5, -.5, .5, 1.5}, "five_off_centre": {-1.2, -.2, .8, 1.8}, "two_only": {1}, "coarse_3_wide": {-2, 2}}
	for _, r := range rows(t, "arl_grouped_extreme.csv") {
		c := cuts[r["chart"]]
		n := Normal{number(t, r, "shift_sigma"), 1}
		p := n.chance(interval.Above(c[len(c)-1]))
		if r["rule"] == "top or bottom category" {
			p += n.chance(interval.Below(c[0]))
		}
		within(t, r["chart"]+" "+r["rule"], 1/p, number(t, r, "arl_exact"), 1e-9)
	}
}
