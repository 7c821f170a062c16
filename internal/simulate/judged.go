package main

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"knownwater"
	"knownwater/internal/madeup"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// spreadShapes are how the spread goes with the true concentration.
var spreadShapes = []struct {
	name string
	sd   func(c float64) float64
}{
	{"constant", func(float64) float64 { return 0.3 }},
	{"proportional", func(c float64) float64 { return 0.01 + 0.05*c }},
	{"two-component", twoComponent},
	{"falling", func(c float64) float64 { return 0.5 / (1 + c/4) }},
	{"humped", func(c float64) float64 {
		t := math.Log((c + 0.75) / 3)
		return 0.5 * math.Exp(-0.7*t*t)
	}},
}

func twoComponent(c float64) float64 { return math.Hypot(0.1, 0.05*c) }

// kinds of methods that are tried.
var (
	fine       = knownwater.Method{Name: "display", Kind: knownwater.Display, Resolution: 0.001}
	fineChart  = knownwater.Method{Name: "chart", Kind: knownwater.Chart, Swatches: []float64{0, 1, 2, 4, 6, 9, 12, 16, 20, 25, 30, 40, 50, 60}, AtShare: 0.25}
	wideChart  = knownwater.Method{Name: "chart", Kind: knownwater.Chart, Swatches: []float64{0, 3, 6, 12, 20, 35, 70}, AtShare: 0.25}
	units      = knownwater.Method{Name: "display", Kind: knownwater.Display, Resolution: 1}
	absorbance = knownwater.Method{Name: "cell", Kind: knownwater.Absorbance, Resolution: 0.001}
)

// judgedDesigns are the trials whose every printed limit and verdict is held against the truth.
func judgedDesigns() []design {
	var ds []design
	display := func(name string, n int, sd func(float64) float64) design {
		return design{name: fmt.Sprintf("display, %s, %d", name, n), method: fine, levels: demoLevels, vials: n, response: straight, sd: sd}
	}
	for _, n := range []int{2, 3, 5, 9} {
		for _, s := range spreadShapes {
			ds = append(ds, display(s.name, n, s.sd))
		}
	}
	for _, s := range spreadShapes {
		d := display(s.name, 0, s.sd)
		d.name, d.uneven = "display, "+s.name+", 2–9", []int{2, 3, 5, 9, 2, 4, 7, 3}
		ds = append(ds, d)
	}
	with := func(d design, name string, change func(*design)) {
		d.name += ", " + name
		change(&d)
		ds = append(ds, d)
	}
	for _, n := range []int{3, 5} {
		with(display("two-component", n, twoComponent), "5 % slips", func(d *design) { d.tail = slips5 })
		with(display("two-component", n, twoComponent), "t3", func(d *design) { d.tail = t3 })
	}
	with(display("proportional 2 %", 3, nil), "8 % high", func(d *design) {
		d.response = func(c float64) float64 { return 1.08 * c }
		d.sd0, d.share = 0.01, 0.02
	})
	with(display("two-component", 3, twoComponent), "knowns ±2 %", func(d *design) { d.uLevel = func(c float64) float64 { return 0.02 * c } })
	with(display("two-component", 1, twoComponent), "one vial × 3 readings, vials as repeats", func(d *design) { d.again, d.vial = 3, 1 })
	with(display("two-component", 1, twoComponent), "one vial × 3 readings, vials do not differ", func(d *design) { d.again = 3 })
	with(display("two-component", 3, twoComponent), "3 readers", func(d *design) { d.readers, d.reader, d.vial = 3, 0.5, 0.5 })
	ds = append(ds,
		design{name: "absorbance, stray light, 3", method: absorbance, levels: []float64{0, 0.6, 1.5, 3, 6, 9, 12}, vials: 3, response: strayLight, sd0: 0.004, share: 0.03, corrected: true},
		design{name: "drops of 1, 3", method: drops, levels: demoLevels, vials: 3, response: straight, sd0: 0.3, share: 0.05},
		design{name: "drops of 1, 9", method: drops, levels: demoLevels, vials: 9, response: straight, sd0: 0.3, share: 0.05},
	)
	charts := []struct {
		name   string
		method knownwater.Method
	}{{"fine chart", fineChart}, {"coarse chart", wideChart}}
	for _, c := range charts {
		one := design{name: c.name + ", 9", method: c.method, levels: demoLevels, vials: 9, response: straight, sd0: 0.4, share: 0.10}
		with(one, "at_share right", func(d *design) {})
		with(one, "at_share wrong", func(d *design) { d.true = 0.42 })
		with(one, "at_share unstated", func(d *design) { d.method.AtShare, d.true = 0, 0.42 })
		three := one
		three.name, three.vials, three.readers, three.reader, three.vial = c.name+", 3 vials × 3 readers", 3, 3, 0.5, 0.5
		with(three, "at_share right", func(d *design) {})
		with(three, "at_share unstated", func(d *design) { d.method.AtShare, d.true = 0, 0.42 })
	}
	// on the boundary between two counts, where steady hands read either way
	ds = append(ds, design{name: "drops of 1, knowns at whole drops, 3", method: drops, levels: []float64{0, 1, 2, 4, 6, 10, 15, 20}, vials: 3, response: straight, sd0: 0.2})
	for _, c := range charts { // later than the others, whose trials are named by their places
		three := design{name: c.name + ", 3", method: c.method, levels: demoLevels, vials: 3, response: straight, sd0: 0.4, share: 0.10}
		with(three, "at_share right", func(d *design) {})
		with(three, "at_share wrong", func(d *design) { d.true = 0.42 })
		with(three, "at_share unstated", func(d *design) { d.method.AtShare, d.true = 0, 0.42 })
	}
	hump := spreadShapes[len(spreadShapes)-1].sd
	wide := func(c float64) float64 { return 3 * hump(c) }
	ds = append(ds,
		design{name: "fine chart, humped, 3", method: fineChart, levels: demoLevels, vials: 3, response: straight, sd: wide},
		design{name: "fine chart, humped, 2 vials × 2 readers", method: fineChart, levels: demoLevels, vials: 2, response: straight, sd: wide, readers: 2, reader: 0.5})
	for _, n := range []int{3, 5} { // steps that are wider than the scatter
		for _, s := range spreadShapes {
			d := display(s.name, n, s.sd)
			d.name, d.method = fmt.Sprintf("display in steps of 1, %s, %d", s.name, n), units
			ds = append(ds, d)
		}
	}
	return ds
}

// ratios of the true error to the permitted one.
var ratios = []float64{0.5, 0.8, 0.9, 1, 1.1, 1.25, 2}

// needLow and needHigh are the range of every need.
const needLow, needHigh = 1.5, 20

// withNeeds gives a design a need for every ratio: the permitted error is the true
// one divided by it at every place; of answers in steps, whose error jumps, the
// largest true one.
func (d design) withNeeds(ratios ...float64) design {
	d.needs = nil
	high := math.Min(needHigh, d.levels[len(d.levels)-1])
	steps := len(d.answers()) > 0
	var at, e []float64
	for i := range 201 {
		c := needLow + (high-needLow)*float64(i)/200
		at, e = append(at, c), append(e, d.trueError(c))
	}
	for _, r := range ratios {
		n := knownwater.Need{Name: fmt.Sprint(r), Low: needLow, High: high}
		if steps {
			most := 0.0
			for _, v := range e {
				most = math.Max(most, v)
			}
			n.Permitted = []knownwater.Permit{{At: needLow, Error: most / r}, {At: high, Error: most / r}}
		} else {
			for i := range at {
				n.Permitted = append(n.Permitted, knownwater.Permit{At: at[i], Error: e[i] / r})
			}
		}
		d.needs = append(d.needs, n)
	}
	return d
}

// trueError is the error that 95 % of single results at c keep within.
func (d design) trueError(c float64) float64 {
	y := d.response(c)
	sd := d.whole(y)
	switch {
	case d.corrected:
		return d.turnedError(c, d.response)
	case len(d.answers()) > 0:
		return d.trueStepError(c, y, sd)
	}
	if step := d.method.Resolution; step > sd {
		b := math.Abs(y - c)
		return crossing(func(e float64) float64 { return shownBelow(e-b, sd, step) - shownBelow(-e-b, sd, step) - 0.95 })
	}
	return trueError95(math.Abs(y-c), math.Hypot(sd, d.method.Resolution/math.Sqrt(12)))
}

// shownBelow is the chance that a normal shown in steps lies below x, wherever the steps lie.
func shownBelow(x, sd, step float64) float64 {
	if step > sd {
		return madeup.ShownBelow(x, sd, step, 60)
	}
	return num.Phi(x / math.Hypot(sd, step/math.Sqrt(12)))
}

// turnedError is the error that 95 % of single results keep within that are turned round
// by a response.
func (d design) turnedError(c float64, response func(float64) float64) float64 {
	y := d.response(c)
	below := func(v float64) float64 { return shownBelow(response(v)-y, d.whole(y), d.method.Resolution) }
	lo, hi := 0.0, 10*c+1
	for range 50 {
		mid := (lo + hi) / 2
		p := below(c + mid)
		if mid < c {
			p -= below(c - mid)
		}
		if p < 0.95 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// answers are what a method in steps can show, up to well above what is tried.
func (d design) answers() []reading.Answer {
	m := d.method
	if d.true > 0 {
		m.AtShare = d.true
	}
	return reading.Answers(m, 2*d.levels[len(d.levels)-1])
}

func (d design) trueStepError(c, y, sd float64) float64 {
	list := d.answers()
	best := math.Inf(1)
	for _, a := range list { // the least miss that holds for 95 %
		miss, p := math.Abs(a.Value-c), 0.0
		for _, b := range list {
			if math.Abs(b.Value-c) <= miss+1e-12 {
				p += num.Phi((b.Seen.High-y)/sd) - num.Phi((b.Seen.Low-y)/sd)
			}
		}
		if p >= 0.95 {
			best = math.Min(best, miss)
		}
	}
	return best
}

// What a judged trial is counted for: so many numbers a level, a place of the
// need, a ratio, and two at the end.
const (
	meanLow, meanHigh, sdLow, sdHigh, biasLow, biasHigh, hasMean, hasSD, logWidth, perLevel = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9
	errorLow, errorHigh, perPlace                                                           = 0, 1, 2
	rawFit, rawNot, corrFit, corrNot, corrWrong, perRatio                                   = 0, 1, 2, 3, 4, 5
)

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// A limit within a thousandth of the truth is on it: logarithms have no nothing.
func above(n num.Number, v float64) float64 {
	return b2f(n.OK() && float64(n) > v+1e-3*math.Max(math.Abs(v), 0.1))
}
func below(n num.Number, v float64) float64 {
	return b2f(n.OK() && float64(n) < v-1e-3*math.Max(math.Abs(v), 0.1))
}

// judge draws a trial and counts what its findings miss.
func (d design) judge(table, run int) []float64 {
	f := assess.Run(d.trial(source(table, run)), assess.Options{Brief: true}).Methods[0]
	var out []float64
	for _, l := range f.Levels {
		y := d.response(l.Level)
		sd := d.whole(y)
		width := float64(l.MeanHigh-l.MeanLow) / (2 * 1.959964 * d.meanSE(l.N, y))
		has := l.MeanLow.OK() && l.MeanHigh.OK() && width > 0
		if !has {
			width = 1
		}
		out = append(out, above(l.MeanLow, y), below(l.MeanHigh, y), above(l.SDLow, sd), below(l.SDHigh, sd),
			above(l.BiasLow, y-l.Level), below(l.BiasHigh, y-l.Level), b2f(has), b2f(l.SDHigh.OK()), math.Log(width))
	}
	one := f.Needs[3] // permitted is the true error
	for _, a := range one.Along {
		truth := d.trueError(a.At)
		low, high := a.RawLow, a.RawHigh
		if d.corrected {
			low, high = a.CorrLow, a.CorrHigh
		}
		out = append(out, above(low, truth), below(high, truth))
	}
	turned := d.turnedRatio(f)
	for i, n := range f.Needs {
		fit, not := n.Corrected.Verdict == assess.Fit, n.Corrected.Verdict == assess.NotFit
		inside := turned*ratios[i] <= 1
		out = append(out, b2f(n.Raw.Verdict == assess.Fit), b2f(n.Raw.Verdict == assess.NotFit), b2f(fit), b2f(not), b2f(fit && !inside || not && inside))
	}
	return out
}

// turnedRatio is the largest error, over the needed range, of results turned round by the
// response that a trial found, ÷ the error that was permitted them at a ratio of 1.
func (d design) turnedRatio(f assess.MethodFinding) float64 {
	at, mean := f.Shape.At, f.Shape.Mean
	if len(at) < 2 || len(d.answers()) > 0 {
		return math.NaN()
	}
	response := func(c float64) float64 {
		k := len(at) - 2
		for k > 0 && at[k] > c {
			k--
		}
		return float64(mean[k]) + (c-at[k])/(at[k+1]-at[k])*float64(mean[k+1]-mean[k])
	}
	worst, high := 0.0, math.Min(needHigh, d.levels[len(d.levels)-1])
	for i := range 41 {
		c := needLow + (high-needLow)*float64(i)/40
		worst = math.Max(worst, d.turnedError(c, response)/d.needs[3].PermittedAt(c))
	}
	return worst
}

// meanSE is the standard error of a level's mean for who knew every spread.
func (d design) meanSE(n int, y float64) float64 {
	r, vials := float64(max(1, d.readers)), float64(n)/float64(max(1, d.readers)*max(1, d.again))
	reader := 0.0
	if d.readers > 0 {
		reader = d.reader * d.reader / r
	}
	return d.repeatability(y) * math.Sqrt(1/float64(n)+d.vial*d.vial/vials+reader)
}

// judgedTables are the tables over the judged designs.
func judgedTables() []table {
	ds := judgedDesigns()
	of := make([]experiment, len(ds))
	for i, d := range ds {
		needy := sync.OnceValue(func() design { return d.withNeeds(ratios...) })
		of[i] = experiment{"judged: " + d.name, d.readers > 0, func(run int) []float64 { return needy().judge(1000+i, run) }}
	}
	level := func(d design, c counts, what int) string {
		var parts []string
		for i := range d.levels {
			parts = append(parts, percent(c.rate(i*perLevel+what)))
		}
		return strings.Join(parts, " ")
	}
	places := func(d design, c counts, what int) float64 {
		most := 0.0
		for at := len(d.levels) * perLevel; at < len(c.Sum)-len(ratios)*perRatio; at += perPlace {
			most = math.Max(most, c.rate(at+what))
		}
		return most
	}
	means := table{name: "means", of: of,
		title: "Level means: per cent of limits that miss, by level from the lowest up",
		head:  "| method, spread, readings a level | runs | mean’s lower limit | upper limit | bias’s lower limit | upper limit | width |",
		foot:  "Width: the interval against that of somebody who knew every spread and saw the readings unrounded (geometric mean over levels and trials). Meant: at most 4 on each side (5 where the spread falls or is humped). Knowns at " + list(demoLevels) + "; of the absorbance at 0, 0.6, 1.5, 3, 6, 9, 12.",
		lines: func(i int, c counts) []string {
			d := ds[i]
			n, sum := 0.0, 0.0
			for l := range d.levels {
				n, sum = n+c.Sum[l*perLevel+hasMean], sum+c.Sum[l*perLevel+logWidth]
			}
			low, high := level(d, c, biasLow), level(d, c, biasHigh)
			if low == level(d, c, meanLow) && high == level(d, c, meanHigh) { // knowns without doubt: bias is mean less known
				low, high = "the same", "the same"
			}
			return []string{fmt.Sprintf("| %s | %d | %s | %s | %s | %s | %.2f |", d.name, c.Runs, level(d, c, meanLow), level(d, c, meanHigh), low, high, math.Exp(sum/math.Max(n, 1)))}
		}}
	spreads := table{name: "spreads", of: of,
		title: "Spreads and errors: per cent of limits that miss",
		head:  "| method, spread, readings a level | runs | spread’s lower limit, by level | upper limit | error’s lower limit, worst place | upper limit |",
		foot:  "The error is that of single results (of the absorbance: turned round), over the needed range from 1.5 to 20; the worst of its places is shown. Answers in steps have no error between two of them, so that a limit may rest on the truth.",
		lines: func(i int, c counts) []string {
			d := ds[i]
			return []string{fmt.Sprintf("| %s | %d | %s | %s | %s | %s |", d.name, c.Runs, level(d, c, sdLow), level(d, c, sdHigh), percent(places(d, c, errorLow)), percent(places(d, c, errorHigh)))}
		}}
	return []table{means, spreads, verdictTable(ds, of, "verdicts", "Verdicts on results as read", false), verdictTable(ds, of, "corrected", "Verdicts on corrected results", true)}
}

// verdictTable shows fit and not fit at every ratio.
func verdictTable(ds []design, of []experiment, name, title string, corrected bool) table {
	head := "| method, spread, readings a level | runs |"
	for _, r := range ratios {
		head += fmt.Sprintf(" %g |", r)
	}
	head += " wrong, worst |"
	t := table{name: name, of: of, title: title + ": per cent fit / not fit, by true error ÷ permitted", head: head,
		foot: "Where the ratio is the same at every place (displays, absorbance; answers in steps at the worst place). Wrong: not fit up to 1, fit above. Somebody who knew that there is no bias and how the spread goes, and had only its size to find (χ², exact), would say at these ratios " + benchmark() + "."}
	if corrected {
		t.foot = "The ratio’s true error is that of results turned round by the true response. By the response that a trial finds it is larger, and that is what decides what was wrong: not fit of a record whose results keep to what is permitted at every place, fit of one whose results do not. Charts and drops have no such truth, and are left out."
	}
	t.lines = func(i int, c counts) []string {
		d := ds[i]
		if corrected != d.corrected && (corrected && (len(d.answers()) > 0 || strings.Contains(d.name, "high")) || !corrected) {
			return nil // the truth of these is another
		}
		at := len(c.Sum) - len(ratios)*perRatio
		fit, not := rawFit, rawNot
		if corrected {
			fit, not = corrFit, corrNot
		}
		line, wrong := fmt.Sprintf("| %s | %d |", d.name, c.Runs), 0.0
		for j, r := range ratios {
			f, n := c.rate(at+j*perRatio+fit), c.rate(at+j*perRatio+not)
			line += fmt.Sprintf(" %s / %s |", percent(f), percent(n))
			if corrected {
				wrong = math.Max(wrong, c.rate(at+j*perRatio+corrWrong))
			} else if r <= 1 {
				wrong = math.Max(wrong, n)
			} else {
				wrong = math.Max(wrong, f)
			}
		}
		return []string{line + " " + percent(wrong) + " |"}
	}
	return t
}

// benchmark is the exact power where only the size of the spread is unknown.
func benchmark() string {
	var parts []string
	for _, n := range []float64{2, 3, 5, 9} {
		df := n*float64(len(demoLevels)) - float64(len(demoLevels))
		low, high := num.ChiSquareQuantile(0.025, df), num.ChiSquareQuantile(0.975, df)
		var cells []string
		for _, r := range ratios {
			fit, not := num.ChiSquareCDF(low/(r*r), df), 1-num.ChiSquareCDF(high/(r*r), df)
			cells = append(cells, fmt.Sprintf("%s / %s", percent(100*fit), percent(100*not)))
		}
		parts = append(parts, fmt.Sprintf("with %g readings a level %s", n, strings.Join(cells, ", ")))
	}
	return strings.Join(parts, "; ")
}

// percent is a percentage in as many digits as it has.
func percent(v float64) string {
	if v >= 9.95 {
		return fmt.Sprintf("%.0f", v)
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0")
}

func list(v []float64) string {
	return strings.Trim(strings.Join(strings.Fields(fmt.Sprint(v)), ", "), "[]")
}
