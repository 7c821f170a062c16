package main

import (
	"fmt"
	"math"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/record"
)

// limitDesigns are the designs of the limit and step tables.
func limitDesigns() []design {
	return []design{
		{name: "display, 3 a level, 6 blanks", method: display, levels: demoLevels, vials: 3, blanks: 6, response: straight, sd0: 0.3, share: 0.03},
		{name: "display, 3 a level, 3 blanks", method: display, levels: demoLevels, vials: 3, response: straight, sd0: 0.3, share: 0.03},
		{name: "display, offset and slope 0.6", method: display, levels: demoLevels, vials: 3, blanks: 6, response: func(c float64) float64 { return 1 + 0.6*c }, sd0: 0.2, share: 0.02},
		{name: "chart, 3 vials × 3 readers, 6 blanks", method: chart, levels: demoLevels, vials: 3, blanks: 6, readers: 3,
			response: func(c float64) float64 { return 0.7 + c }, sd0: 0.4, share: 0.10, reader: 0.5, vial: 0.5},
	}
}

type rates struct{ alarm, miss float64 }

// limitsRow measures, at each trial's own limits, the true chances of a single
// later reading. The boundary on the scale is recovered from what is printed:
// a reading of the critical concentration's mean response or less is none.
func limitsRow(d design, table, runs int) string {
	outs := collect(runs, func(run int) rates {
		f := assessed(d.trial(source(100+table, run)), run).Methods[0]
		if !f.Limits.Critical.OK() || !f.Limits.Detection.OK() {
			return rates{math.NaN(), math.NaN()}
		}
		b := boundary(d.method, fitted(f, float64(f.Limits.Critical)))
		return rates{1 - d.below(0, b), d.below(float64(f.Limits.Detection), b)}
	})
	var alarm, miss, n float64
	for _, o := range outs {
		if !math.IsNaN(o.alarm) {
			alarm, miss, n = alarm+o.alarm, miss+o.miss, n+1
		}
	}
	return fmt.Sprintf("| %s | %.1f %% | %.1f %% | %.0f %% |", d.name, 100*alarm/n, 100*miss/n, 100*n/float64(runs))
}

// boundary is the answers' boundary next to y.
func boundary(m knownwater.Method, y float64) float64 {
	if m.Kind != knownwater.Chart {
		return (math.Round(y/m.Resolution-0.5) + 0.5) * m.Resolution
	}
	best := math.Inf(1)
	for _, t := range reading.Tiles(m) {
		if math.Abs(t.Seen.High-y) < math.Abs(best-y) {
			best = t.Seen.High
		}
	}
	return best
}

// fitted is the printed response at c.
func fitted(f assess.MethodFinding, c float64) float64 {
	at, mean := f.Shape.At, f.Shape.Mean
	i := 1
	for i < len(at)-1 && at[i] < c {
		i++
	}
	return float64(mean[i-1]) + float64(mean[i]-mean[i-1])*(c-at[i-1])/(at[i]-at[i-1])
}

// below is the true chance that a single later reading at c stays at b or below.
func (d design) below(c, b float64) float64 {
	y := d.response(c)
	return num.Phi((b - y) / d.whole(y))
}

// apartRows measures the true chance of the right order at the printed steps.
func apartRows(d design, table, runs int) []string {
	outs := collect(runs, func(run int) [][2]float64 {
		f := assessed(d.trial(source(200+table, run)), run).Methods[0]
		var p [][2]float64
		for _, s := range f.Steps {
			p = append(p, [2]float64{d.order(s.At, float64(s.SmallestStep), false), d.order(s.At, float64(s.OtherReader), true)})
		}
		return p
	})
	var rows []string
	for i, c := range d.levels[:len(d.levels)-2] {
		var sum, n [2]float64
		for _, o := range outs {
			for k := range 2 {
				if i < len(o) && !math.IsNaN(o[i][k]) {
					sum[k] += o[i][k]
					n[k]++
				}
			}
		}
		rows = append(rows, fmt.Sprintf("| %s | %v | %.1f %% | %.1f %% |", d.name, c, 100*sum[0]/n[0], 100*sum[1]/n[1]))
	}
	return rows
}

// order is the true chance that one reading at c+step is shown above one at c.
func (d design) order(c, step float64, other bool) float64 {
	if math.IsNaN(step) {
		return step
	}
	sd := func(y float64) float64 {
		if other {
			return d.whole(y)
		}
		return d.repeatability(y) * math.Sqrt(1+d.vial*d.vial)
	}
	y1, y2 := d.response(c), d.response(c+step)
	shown := record.Shown{Step: d.method.Resolution}
	if d.method.Kind == knownwater.Chart {
		for _, t := range reading.Tiles(d.method) {
			shown.Answers = append(shown.Answers, record.Answer{Seen: t.Seen})
		}
	}
	above, _ := shown.Order(record.Normal{Mean: y1, SD: sd(y1)}, record.Normal{Mean: y2, SD: sd(y2)})
	return above
}

// needDesigns put the true error of single results at, above and below what is
// permitted: a display with a bias of 10 % and a spread of 0.3.
func needDesigns() []design {
	var ds []design
	for _, k := range []float64{0.5, 0.8, 1, 1.02, 1.25, 2} {
		e := trueError95(0.10*12, 0.3) // at 12, the upper end of the need, where the bias is largest
		ds = append(ds, design{
			name: "display reading 10 % high, 3 a level", method: display, levels: []float64{0, 2, 4, 8, 12, 16}, vials: 3,
			response: func(c float64) float64 { return 1.10 * c }, sd0: 0.3,
			needs: []knownwater.Need{{Name: fmt.Sprintf("%.2f", k), Low: 2, High: 12, Permitted: []knownwater.Permit{{At: 2, Error: e / k}, {At: 12, Error: e / k}}}},
		})
	}
	return ds
}

// trueError95 is the error that 95 % of results with this bias and spread keep within.
func trueError95(bias, sd float64) float64 {
	lo, hi := 0.0, bias+10*sd
	for range 60 {
		mid := (lo + hi) / 2
		if num.Phi((mid-bias)/sd)-num.Phi((-mid-bias)/sd) < 0.95 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// needsRow judges the verdict on results as read.
func needsRow(d design, table, runs int) string {
	outs := collect(runs, func(run int) string {
		return assessed(d.trial(source(300+table, run)), run).Methods[0].Needs[0].Raw.Verdict
	})
	count := map[string]float64{}
	for _, v := range outs {
		count[v] += 100 / float64(runs)
	}
	var k float64
	fmt.Sscan(d.needs[0].Name, &k)
	wrong := count[assess.Fit]
	if k <= 1 {
		wrong = count[assess.NotFit]
	}
	return fmt.Sprintf("| %s | %.2f | %.1f %% | %.1f %% | %.1f %% | %.1f %% |", d.name, k,
		count[assess.Fit], count[assess.NotFit], count[assess.Undecided], wrong)
}
