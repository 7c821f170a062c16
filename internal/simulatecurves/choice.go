package main

import (
	"fmt"
	"io"
	"math"

	"knownwater/science/curve"
	"knownwater/science/num"
)

// choiceRow is a made-up method from whose points the shape is chosen.
type choiceRow struct {
	truth  curve.Shape
	top    float64 // of the levels
	levels []float64
	reps   int
}

func choiceRows() []choiceRow {
	return []choiceRow{
		{curve.StrayLight, 12, []float64{0, 0.6, 1.5, 3, 6, 12}, 4},
		{curve.StrayLight, 12, []float64{0, 0.6, 1.5, 3, 6, 8, 10, 12}, 3},
		{curve.StrayLight, 6, []float64{0, 0.6, 1.5, 3, 4.5, 6}, 4},
		{curve.Line, 12, []float64{0, 0.6, 1.5, 3, 6, 8, 10, 12}, 3},
		{curve.Saturating, 40, []float64{0, 1.5, 3, 6, 12, 20, 30, 40}, 3},
		{curve.Quadratic, 16, []float64{0, 0.5, 1, 2, 4, 8, 12, 16}, 3},
	}
}

type choiceOut struct {
	shape        curve.Shape
	chosen, true float64 // squared relative errors of read-back, summed over the range
	ok           bool
}

func choiceTable(w io.Writer, runs int) {
	fmt.Fprintf(w, "### Choice of shape, scatter 0.004 and 3 %%, signals known to be absorbances, %d calibrations a row\n\n", runs)
	fmt.Fprintln(w, "| true shape | levels × replicates, up to | line | stray light | saturating | quadratic | other | error of read-back ÷ that with the true shape |\n|---|---|---|---|---|---|---|---|")
	for i, row := range choiceRows() {
		count, ratio := row.run(i, runs)
		fmt.Fprintf(w, "| %s | %d × %d, %g |", truthOf(row.truth).name, len(row.levels), row.reps, row.top)
		other := 1.0
		for _, s := range []curve.Shape{curve.Line, curve.StrayLight, curve.Saturating, curve.Quadratic} {
			other -= count[s]
			fmt.Fprintf(w, " %.1f %% |", 100*count[s])
		}
		fmt.Fprintf(w, " %.1f %% | %.2f |\n", 100*math.Abs(other), ratio)
	}
}

// run says how often each shape was chosen, and how much larger the root mean
// square error of reading one later sample is than with the true shape.
func (row choiceRow) run(task, runs int) (map[curve.Shape]float64, float64) {
	t := truthOf(row.truth)
	outs := collect(runs, func(run int) (out choiceOut) {
		r := num.Source(43, uint64(task), uint64(run))
		points := measured(t, growing, row.levels, row.reps, r)
		chosen, err := curve.Fit(points, curve.Options{Light: true})
		if err != nil {
			return out
		}
		right, err := curve.Fit(points, curve.Options{Light: true, Shape: row.truth})
		if err != nil {
			return out
		}
		out.shape, out.ok = chosen.Shape, true
		for _, share := range []float64{0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95} {
			x := share * row.top
			y := []float64{signal(t, growing, x, 0, r)}
			a, b := chosen.Read(curve.Sample{Signals: y}), right.Read(curve.Sample{Signals: y})
			if math.IsNaN(a.Level) || math.IsNaN(b.Level) {
				continue
			}
			out.chosen += (a.Level - x) * (a.Level - x) / (x * x)
			out.true += (b.Level - x) * (b.Level - x) / (x * x)
		}
		return out
	})
	count := map[curve.Shape]float64{}
	chosen, right := 0.0, 0.0
	for _, o := range outs {
		if o.ok {
			count[o.shape] += 1 / float64(runs)
			chosen += o.chosen
			right += o.true
		}
	}
	return count, math.Sqrt(chosen / right)
}
