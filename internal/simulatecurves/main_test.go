package main

import (
	"math"
	"strings"
	"testing"

	"knownwater/science/curve"
)

// The tables of docs/accuracy.md in short: every row with enough replicates covers
// 95 % within four standard errors and one percent.
func TestReadBackCovers(t *testing.T) {
	const runs = 300
	slack := 4*math.Sqrt(0.95*0.05/runs) + 0.01
	for _, row := range []readRow{
		{truth: curve.Line, scatter: constant, weights: curve.Equal, levels: 3, reps: 2},
		{truth: curve.Line, scatter: likeX, weights: curve.OverX2, levels: 5, reps: 2},
		{truth: curve.Line, scatter: growing, levels: 8, reps: 3},
		{truth: curve.StrayLight, scatter: growing, levels: 8, reps: 3, auto: true},
		{truth: curve.Saturating, scatter: constant, weights: curve.Equal, levels: 4, reps: 2},
		{truth: curve.StrayLight, scatter: growing, levels: 8, reps: 3, own: 0.01, stock: 0.02},
	} {
		for i, c := range row.coverage(900, runs) {
			if c < 0.95-slack || i > 0 && c > 0.95+slack && row.own == 0 {
				t.Errorf("%s at %g of the top: covered %.3f", row.run(900, runs), shares[i], c)
			}
		}
	}
}

func TestShapeIsChosenRight(t *testing.T) {
	const runs = 200
	row := choiceRow{curve.StrayLight, 12, []float64{0, 0.6, 1.5, 3, 6, 8, 10, 12}, 3}
	count, ratio := row.run(901, runs)
	if count[curve.StrayLight] < 0.90 || ratio > 1.1 {
		t.Errorf("stray light found in %.3f, error ratio %.3f", count[curve.StrayLight], ratio)
	}
	row.truth = curve.Line
	if count, _ := row.run(902, runs); count[curve.Line] < 0.88 {
		t.Errorf("a line found in %.3f", count[curve.Line])
	}
}

func TestLimitsKeepTheirErrors(t *testing.T) {
	for i, row := range []limitRow{
		{curve.StrayLight, growing, "", 8, 3, 5},
		{curve.StrayLight, constant, "", 5, 3, 0}, // three blanks: 7.0 % missed, before weightings were judged for nearness to nothing
		{curve.StrayLight, growing, "", 5, 3, 0},
	} {
		alarm, missed := row.run(903+i, 300)
		if math.Abs(alarm-0.05) > 0.02 || math.Abs(missed-0.05) > 0.02 { // standard error of 300 calibrations 0.3 %
			t.Errorf("%+v: alarms %.1f %%, missed %.1f %%", row, 100*alarm, 100*missed)
		}
	}
}

func TestRecheckCovers(t *testing.T) {
	held, apart, moved := recheckRow{curve.Line, []float64{0.3, 0.8}, 0.01}.run(904, 400)
	if held < 0.91 || held > 0.985 || apart < 0.01 || apart > 0.09 || moved > 0.08 {
		t.Errorf("slope covered %.3f, knowns said to disagree %.3f, blank to have moved %.3f", held, apart, moved)
	}
}

func TestTablesPrint(t *testing.T) {
	var b strings.Builder
	simulate(&b, 2, "")
	if n := strings.Count(b.String(), "\n| "); n < 60 {
		t.Errorf("%d rows:\n%s", n, b.String())
	}
}
