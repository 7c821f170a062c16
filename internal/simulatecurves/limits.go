package main

import (
	"fmt"
	"io"
	"math"

	"knownwater/science/curve"
	"knownwater/science/num"
)

// limitRow is a made-up method whose limits are tried out.
type limitRow struct {
	truth   curve.Shape
	scatter scatter
	weights curve.Weights
	levels  int
	reps    int
	blanks  int // more of them
}

func limitRows() []limitRow {
	return []limitRow{
		{curve.Line, constant, curve.Equal, 5, 3, 0},
		{curve.Line, constant, "", 5, 3, 3},
		{curve.Line, growing, "", 5, 3, 3},
		{curve.StrayLight, growing, "", 8, 3, 0},
		{curve.StrayLight, growing, "", 8, 3, 5},
		{curve.Saturating, growing, "", 8, 3, 5},
		{curve.StrayLight, constant, curve.Equal, 4, 3, 0},
		{curve.StrayLight, constant, curve.Equal, 5, 3, 0},
		{curve.StrayLight, constant, "", 5, 3, 0},
		{curve.StrayLight, growing, "", 5, 3, 0},
		{curve.StrayLight, constant, "", 8, 3, 0},
		{curve.Saturating, constant, "", 5, 3, 0},
		{curve.Quadratic, constant, "", 5, 3, 0},
		{curve.Quadratic, growing, "", 5, 3, 0},
	}
}

func limitTable(w io.Writer, runs int) {
	fmt.Fprintf(w, "### Limits: what one later reading does, %d calibrations a row\n\n", runs)
	fmt.Fprintln(w, "| true shape | scatter | weights | levels × replicates | false alarms at the blank | missed at the detection limit |\n|---|---|---|---|---|---|")
	for i, row := range limitRows() {
		alarm, missed := row.run(i, runs)
		weights := string(row.weights)
		if weights == "" {
			weights = "auto"
		}
		fmt.Fprintf(w, "| %s | %s | %s | %d × %d + %d blanks | %.1f %% | %.1f %% |\n", truthOf(row.truth).name, row.scatter.name, weights, row.levels, row.reps, row.blanks, 100*alarm, 100*missed)
	}
}

// run averages the chance that one later signal of a blank passes the critical
// signal, and that one at the detection limit does not, over calibrations.
func (row limitRow) run(task, runs int) (alarm, missed float64) {
	t := truthOf(row.truth)
	outs := collect(runs, func(run int) [3]float64 {
		r := num.Source(47, uint64(task), uint64(run))
		levels := spaced(row.levels, t.top)
		points := measured(t, row.scatter, levels, row.reps, r)
		for range row.blanks {
			points = append(points, curve.Point{Signal: signal(t, row.scatter, 0, levels[1], r), Dilution: 1})
		}
		c, err := curve.Fit(points, curve.Options{Shape: row.truth, Weights: row.weights, Light: true})
		if err != nil {
			return [3]float64{}
		}
		l := c.Limits(1)
		if math.IsNaN(l.Detection) {
			return [3]float64{}
		}
		chance := func(x float64) float64 {
			return num.Phi((l.CriticalSignal - t.at(x)) / row.scatter.sd(t, x, levels[1]))
		}
		return [3]float64{1 - chance(0), chance(l.Detection), 1}
	})
	n := 0.0
	for _, o := range outs {
		alarm += o[0]
		missed += o[1]
		n += o[2]
	}
	return alarm / n, missed / n
}
