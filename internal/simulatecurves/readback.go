package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"knownwater/science/curve"
	"knownwater/science/num"
)

// readRow is one row of the table of read-backs.
type readRow struct {
	truth   curve.Shape
	scatter scatter
	weights curve.Weights // "": from the spread
	levels  int
	reps    int
	auto    bool // choose the shape
	// relative standard uncertainty of each known by itself, and of their stock
	own, stock float64
}

func readRows() (rows []readRow) {
	for _, d := range []struct{ levels, reps int }{{3, 2}, {3, 4}, {5, 2}, {5, 3}, {8, 2}, {8, 3}, {8, 4}} {
		rows = append(rows, readRow{curve.Line, constant, curve.Equal, d.levels, d.reps, false, 0, 0})
		rows = append(rows, readRow{curve.Line, rootOfX, curve.OverX, d.levels, d.reps, false, 0, 0})
		rows = append(rows, readRow{curve.Line, likeX, curve.OverX2, d.levels, d.reps, false, 0, 0})
		rows = append(rows, readRow{curve.Line, constant, "", d.levels, d.reps, false, 0, 0})
		rows = append(rows, readRow{curve.Line, growing, "", d.levels, d.reps, false, 0, 0})
	}
	for _, s := range []curve.Shape{curve.Quadratic, curve.Saturating, curve.StrayLight, curve.Cubic} {
		for _, d := range []struct{ levels, reps int }{{4, 2}, {5, 3}, {8, 3}} {
			if s == curve.Cubic && d.levels < 5 {
				continue
			}
			rows = append(rows, readRow{s, constant, curve.Equal, d.levels, d.reps, false, 0, 0})
			rows = append(rows, readRow{s, growing, "", d.levels, d.reps, false, 0, 0})
		}
	}
	for _, s := range []curve.Shape{curve.Line, curve.StrayLight, curve.Saturating, curve.Quadratic} {
		rows = append(rows, readRow{s, growing, "", 8, 3, true, 0, 0})
	}
	for _, s := range []curve.Shape{curve.Line, curve.StrayLight} {
		rows = append(rows,
			readRow{s, constant, curve.Equal, 5, 3, false, 0.02, 0},
			readRow{s, constant, curve.Equal, 5, 3, false, 0.01, 0.02},
			readRow{s, growing, "", 8, 3, false, 0.01, 0.02})
	}
	for _, s := range []curve.Shape{curve.Line, curve.StrayLight} {
		for _, levels := range []int{6, 8, 12} { // single points: residuals alone tell the scatter
			rows = append(rows, readRow{s, constant, "", levels, 1, true, 0, 0}, readRow{s, growing, "", levels, 1, true, 0, 0})
		}
	}
	return rows
}

// shares of the top where a later sample is read, by two replicates.
var shares = []float64{0, 0.05, 0.5, 0.95}

func readBackTable(w io.Writer, runs int) {
	fmt.Fprintf(w, "### Read back: 95 %% intervals that hold the truth, %d calibrations a row\n\n", runs)
	fmt.Fprintln(w, "| true shape | scatter | weights | levels × replicates | at nothing | at 5 % of the top | at the middle | at 95 % of the top |\n|---|---|---|---|---|---|---|---|")
	for i, row := range readRows() {
		fmt.Fprintln(w, row.run(i, runs))
	}
}

func (row readRow) coverage(task, runs int) [4]float64 {
	t := truthOf(row.truth)
	o := curve.Options{Shape: row.truth, Weights: row.weights, Light: true, Sure: true, Shared: row.stock}
	if row.auto {
		o.Shape = ""
	}
	hits := collect(runs, func(run int) (hit [4]float64) {
		r := num.Source(41, uint64(task), uint64(run))
		levels := spaced(row.levels, t.top)
		c, err := curve.Fit(row.measured(t, levels, r), o)
		for i, share := range shares {
			x := share * t.top
			y := []float64{signal(t, row.scatter, x, levels[1], r), signal(t, row.scatter, x, levels[1], r)}
			if err != nil {
				hit[i] = math.NaN()
				continue
			}
			if holds(c.Read(curve.Sample{Signals: y}), x) {
				hit[i] = 1
			}
		}
		return hit
	})
	var out [4]float64
	for i := range out {
		n := 0.0
		for _, h := range hits {
			if !math.IsNaN(h[i]) {
				out[i] += h[i]
				n++
			}
		}
		out[i] /= n
	}
	return out
}

// measured are points whose knowns are not quite what they are stated to be.
func (row readRow) measured(t truth, levels []float64, r *rand.Rand) []curve.Point {
	if row.own == 0 && row.stock == 0 {
		return measured(t, row.scatter, levels, row.reps, r)
	}
	stock := 1 + row.stock*r.NormFloat64()
	var out []curve.Point
	for _, stated := range levels {
		c := stated * (stock + row.own*r.NormFloat64())
		for range row.reps {
			out = append(out, curve.Point{Level: stated, ULevel: stated * math.Hypot(row.own, row.stock),
				Signal: signal(t, row.scatter, c, levels[1], r), Dilution: 1})
		}
	}
	return out
}

// holds says whether a result allows the true level; an end that cannot be said
// allows everything on its side.
func holds(r curve.Result, x float64) bool {
	return !(x < r.Low) && !(x > r.High)
}

func (row readRow) run(task, runs int) string {
	weights := string(row.weights)
	if weights == "" {
		weights = "auto"
	}
	shape := truthOf(row.truth).name
	if row.auto {
		shape += ", shape chosen"
	}
	if row.own > 0 {
		shape += fmt.Sprintf(", knowns ±%g %%", 100*row.own)
	}
	if row.stock > 0 {
		shape += fmt.Sprintf(", stock ±%g %%", 100*row.stock)
	}
	s := fmt.Sprintf("| %s | %s | %s | %d × %d |", shape, row.scatter.name, weights, row.levels, row.reps)
	for _, c := range row.coverage(task, runs) {
		s += fmt.Sprintf(" %.1f |", 100*c)
	}
	return s
}
