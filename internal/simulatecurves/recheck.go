package main

import (
	"fmt"
	"io"
	"math"

	"knownwater/science/curve"
	"knownwater/science/num"
)

// recheckRow is a made-up lot that gives 90 % of the slope, held against the
// curve of the lot before.
type recheckRow struct {
	truth  curve.Shape
	knowns []float64 // as shares of the top, three vials each; three blanks
	own    float64   // relative standard uncertainty of each
}

func recheckRows() []recheckRow {
	return []recheckRow{
		{curve.Line, []float64{0.5}, 0},
		{curve.Line, []float64{0.3, 0.8}, 0},
		{curve.Line, []float64{0.2, 0.4, 0.6, 0.8}, 0.01},
		{curve.StrayLight, []float64{0.5}, 0.01},
		{curve.StrayLight, []float64{0.3, 0.8}, 0},
	}
}

func recheckTable(w io.Writer, runs int) {
	fmt.Fprintf(w, "### Re-check of a curve: a lot with 90 %% of the slope, scatter 0.004 and 3 %%, 8 × 3 points, %d calibrations a row\n\n", runs)
	fmt.Fprintln(w, "| true shape | knowns, of the top | slope's interval holds the truth | wrongly said that knowns disagree | blank wrongly said to have moved |\n|---|---|---|---|---|")
	for i, row := range recheckRows() {
		held, apart, moved := row.run(i, runs)
		fmt.Fprintf(w, "| %s | %v | %.1f | %.1f %% | %.1f %% |\n", truthOf(row.truth).name, row.knowns, 100*held, 100*apart, 100*moved)
	}
}

func (row recheckRow) run(task, runs int) (held, apart, moved float64) {
	const slope = 0.9
	t := truthOf(row.truth)
	outs := collect(runs, func(run int) (out [4]float64) {
		r := num.Source(53, uint64(task), uint64(run))
		levels := spaced(8, t.top)
		c, err := curve.Fit(measured(t, growing, levels, 3, r), curve.Options{Shape: row.truth, Light: true, Sure: true})
		if err != nil {
			return out
		}
		vials := func(x float64) (y []float64) {
			for range 3 {
				y = append(y, signal(t, growing, x, 0, r))
			}
			return y
		}
		var knowns []curve.Retest
		for _, share := range row.knowns {
			level := share * t.top
			u := row.own * level
			knowns = append(knowns, curve.Retest{Level: level, ULevel: u, Signals: vials(slope * (level + u*r.NormFloat64()))})
		}
		found, err := c.TwoPoint(vials(0), knowns, 0.05)
		if err != nil {
			return out
		}
		out[0] = 1
		if found.SlopeLow <= slope && slope <= found.SlopeHigh {
			out[1] = 1
		}
		if !found.Agree {
			out[2] = 1
		}
		if found.BlankLow > 0 || found.BlankHigh < 0 {
			out[3] = 1
		}
		return out
	})
	n := 0.0
	for _, o := range outs {
		n += o[0]
		held += o[1]
		apart += o[2]
		moved += o[3]
	}
	if n == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	return held / n, apart / n, moved / n
}
