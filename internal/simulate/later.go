package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/record"
)

func brief(t knownwater.Trial) assess.MethodFinding {
	return assess.Run(t, assess.Options{Brief: true}).Methods[0]
}

// limitDesigns are the designs of the limit and step tables.
func limitDesigns() []design {
	stray := func(blanks int, sd float64, levels ...float64) design {
		return design{method: absorbance, levels: levels, vials: 3, blanks: blanks, response: strayLight, corrected: true, sd0: sd, share: 0.02,
			name: fmt.Sprintf("absorbance, stray light, %d levels × 3, %d blanks", len(levels)-1, blanks)}
	}
	return []design{
		{name: "display, 3 a level, 6 blanks", method: display, levels: demoLevels, vials: 3, blanks: 6, response: straight, sd0: 0.3, share: 0.03},
		{name: "display, 3 a level, 3 blanks", method: display, levels: demoLevels, vials: 3, response: straight, sd0: 0.3, share: 0.03},
		{name: "display, 3 a level, 2 blanks", method: display, levels: demoLevels, vials: 3, blanks: 2, response: straight, sd0: 0.3, share: 0.03},
		{name: "display, offset and slope 0.6", method: display, levels: demoLevels, vials: 3, blanks: 6, response: func(c float64) float64 { return 1 + 0.6*c }, sd0: 0.2, share: 0.02},
		stray(6, 0.004, 0, 0.6, 1.5, 3, 6, 9, 12),
		stray(3, 0.004, 0, 0.6, 1.5, 3, 6, 9, 12),
		stray(3, 0.004, 0, 2, 5, 12),
		{name: "chart, 3 vials × 3 readers, 6 blanks", method: wideChart, levels: demoLevels, vials: 3, blanks: 6, readers: 3,
			response: func(c float64) float64 { return 0.7 + c }, sd0: 0.4, share: 0.10, reader: 0.5, vial: 0.5},
	}
}

func limitTable() table {
	t := table{name: "limits", title: "Limits: what a single later reading does, average over trials",
		head: "| method | runs | false alarms at the blank | missed at the detection limit | trials with a limit |",
		foot: "Meant: 5 each. A chart can only have boundaries between answers as limits."}
	for i, d := range limitDesigns() {
		t.of = append(t.of, experiment{"limits: " + d.name, d.readers > 0, func(run int) []float64 { return d.tryLimits(source(2000+i, run)) }})
	}
	t.lines = func(i int, c counts) []string {
		if c.Sum[2] == 0 {
			return []string{fmt.Sprintf("| %s | %d | – | – | 0 %% |", limitDesigns()[i].name, c.Runs)}
		}
		return []string{fmt.Sprintf("| %s | %d | %.1f %% | %.1f %% | %.0f %% |", limitDesigns()[i].name, c.Runs, 100*c.Sum[0]/c.Sum[2], 100*c.Sum[1]/c.Sum[2], c.rate(2))}
	}
	return t
}

// tryLimits measures, at a trial's own limits, the true chances of a single later
// reading: false alarm, miss, and whether there were limits. The boundary on the scale
// is recovered from what is printed: a reading of the critical concentration's mean
// response or less is none.
func (d design) tryLimits(rng *rand.Rand) []float64 {
	f := brief(d.trial(rng))
	if !f.Limits.Critical.OK() || !f.Limits.Detection.OK() {
		return []float64{0, 0, 0}
	}
	b := boundary(d.method, fitted(f, float64(f.Limits.Critical)))
	return []float64{1 - d.below(0, b), d.below(float64(f.Limits.Detection), b), 1}
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

// apartTable measures the true chance of the right order at the printed steps.
func apartTable() table {
	t := table{name: "apart", title: "Told apart: right order at the printed step, average over trials",
		head: "| method | runs | from | same reader | other reader |",
		foot: "Meant: 95. “Other reader” only where readers are known."}
	var ds []design
	for _, d := range limitDesigns() {
		if !d.corrected && d.blanks != 2 {
			ds = append(ds, d)
		}
	}
	for i, d := range ds {
		t.of = append(t.of, experiment{"apart: " + d.name, d.readers > 0, func(run int) []float64 { return d.stepChances(brief(d.trial(source(2100+i, run)))) }})
	}
	t.lines = func(i int, c counts) (lines []string) {
		for j, level := range ds[i].levels[:len(ds[i].levels)-2] {
			other := "–"
			if c.Sum[4*j+3] > 0 {
				other = fmt.Sprintf("%.1f %%", 100*c.Sum[4*j+1]/c.Sum[4*j+3])
			}
			lines = append(lines, fmt.Sprintf("| %s | %d | %v | %.1f %% | %s |", ds[i].name, c.Runs, level, 100*c.Sum[4*j]/c.Sum[4*j+2], other))
		}
		return lines
	}
	return t
}

// stepChances are, at each level, two chances (same reader, another) and how many there were.
func (d design) stepChances(f assess.MethodFinding) []float64 {
	out := make([]float64, 4*len(d.levels))
	for i, s := range f.Steps {
		for k, p := range []float64{d.order(s.At, float64(s.SmallestStep), false), d.order(s.At, float64(s.OtherReader), true)} {
			if !math.IsNaN(p) {
				out[4*i+k], out[4*i+k+2] = p, 1
			}
		}
	}
	return out
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
	for _, a := range d.answers() {
		shown.Answers = append(shown.Answers, record.Answer{Seen: a.Seen})
	}
	above, _ := shown.Order(record.Normal{Mean: y1, SD: sd(y1)}, record.Normal{Mean: y2, SD: sd(y2)})
	return above
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
