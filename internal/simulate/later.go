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

// rates are shares of later readings, and of trials that gave limits at all.
type rates struct{ alarm, miss, had float64 }

// limitsRow measures, at each trial's own limits, the true chances of a single
// later reading. The boundary on the scale is recovered from what is printed:
// a reading of the critical concentration's mean response or less is none.
func limitsRow(d design, table, runs int) string {
	r := tryLimits(d, table, runs)
	return fmt.Sprintf("| %s | %.1f %% | %.1f %% | %.0f %% |", d.name, 100*r.alarm, 100*r.miss, 100*r.had)
}

func tryLimits(d design, table, runs int) rates {
	outs := collect(runs, func(run int) rates {
		f := assessed(d.trial(source(100+table, run)), run).Methods[0]
		if !f.Limits.Critical.OK() || !f.Limits.Detection.OK() {
			return rates{}
		}
		b := boundary(d.method, fitted(f, float64(f.Limits.Critical)))
		return rates{1 - d.below(0, b), d.below(float64(f.Limits.Detection), b), 1}
	})
	var sum rates
	for _, o := range outs {
		sum = rates{sum.alarm + o.alarm, sum.miss + o.miss, sum.had + o.had}
	}
	return rates{sum.alarm / sum.had, sum.miss / sum.had, sum.had / float64(runs)}
}

// boundary is the answers' boundary next to y.
func boundary(m knownwater.Method, y float64) float64 {
	if len(m.Swatches) == 0 {
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

func apartRows(d design, table, runs int) []string {
	var rows []string
	for _, r := range tryApart(d, table, runs) {
		rows = append(rows, fmt.Sprintf("| %s | %v | %.1f %% | %.1f %% |", d.name, r.from, 100*r.same, 100*r.other))
	}
	return rows
}

// apartResult is the true chance of the right order at the printed steps.
type apartResult struct{ from, same, other float64 }

func tryApart(d design, table, runs int) []apartResult {
	outs := collect(runs, func(run int) []step { return d.stepChances(assessed(d.trial(source(200+table, run)), run).Methods[0]) })
	var results []apartResult
	for i, c := range d.levels[:len(d.levels)-2] {
		r, n := apartResult{from: c}, step{}
		for _, o := range outs {
			for k := range 2 {
				if i < len(o) && !math.IsNaN(o[i][k]) {
					*[]*float64{&r.same, &r.other}[k] += o[i][k]
					n[k]++
				}
			}
		}
		r.same, r.other = r.same/n[0], r.other/n[1]
		results = append(results, r)
	}
	return results
}

// step holds two chances: by the same reader, by another.
type step [2]float64

func (d design) stepChances(f assess.MethodFinding) []step {
	var p []step
	for _, s := range f.Steps {
		p = append(p, step{d.order(s.At, float64(s.SmallestStep), false), d.order(s.At, float64(s.OtherReader), true)})
	}
	return p
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
	for _, t := range reading.Tiles(d.method) {
		shown.Answers = append(shown.Answers, record.Answer{Seen: t.Seen})
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
			ratio: k,
			needs: []knownwater.Need{{Name: "need", Low: 2, High: 12, Permitted: []knownwater.Permit{{At: 2, Error: e / k}, {At: 12, Error: e / k}}}},
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
	count := tryNeeds(d, table, runs)
	share := func(v string) float64 { return 100 * float64(count[v]) / float64(runs) }
	return fmt.Sprintf("| %s | %.2f | %.1f %% | %.1f %% | %.1f %% | %.1f %% |", d.name, d.ratio,
		share(assess.Fit), share(assess.NotFit), share(assess.Undecided), share(wrongVerdict(d.ratio)))
}

func tryNeeds(d design, table, runs int) map[string]int {
	count := map[string]int{}
	for _, v := range collect(runs, func(run int) string {
		return assessed(d.trial(source(300+table, run)), run).Methods[0].Needs[0].Raw.Verdict
	}) {
		count[v]++
	}
	return count
}

// wrongVerdict is the verdict that the truth forbids.
func wrongVerdict(ratio float64) string {
	if ratio <= 1 {
		return assess.NotFit
	}
	return assess.Fit
}
