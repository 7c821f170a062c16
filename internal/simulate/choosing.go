package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/demo"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/num"
)

// shelf draws a bench of four displays that scatter and err differently, at prices of their
// own; each alone errs by 0.4 to 2.5 of what the need permits at its worst place.
func shelf(rng *rand.Rand, spread func(float64) float64, vials int) (all []design, need knownwater.Need) {
	need = knownwater.Need{Name: "need", Low: needLow, High: 6, Permitted: []knownwater.Permit{{At: needLow, Error: 1}}, TestsAMonth: 8}
	for i := range 4 {
		slope := 1 + 0.1*rng.NormFloat64()
		d := design{method: fine, levels: demoLevels, vials: vials, response: func(c float64) float64 { return slope * c }, sd: spread}
		d.method.Name, d.method.PackPrice, d.method.PackTests = fmt.Sprint("display ", i+1), 5+30*rng.Float64(), 50
		ratio := 0.4 * math.Pow(6.25, rng.Float64())
		lo, hi := 0.0, 100.0 // by what the spread is multiplied for that ratio
		worst := func(k float64) float64 {
			d.sd = func(y float64) float64 { return k * spread(y) }
			return d.worstOf(need, 1, false)
		}
		for range 40 {
			if mid := (lo + hi) / 2; worst(mid) < ratio {
				lo = mid
			} else {
				hi = mid
			}
		}
		worst(math.Max(hi, 0.02))
		all = append(all, d)
	}
	return all, need
}

// worstOf is the true error of the average of tests, divided by the permitted one, where it is
// worst; corrected: turned round by the true response.
func (d design) worstOf(n knownwater.Need, tests int, corrected bool) float64 {
	worst := 0.0
	for i := range 46 {
		c := n.Low + (n.High-n.Low)*float64(i)/45
		y := d.response(c)
		bias, sd := math.Abs(y-c), d.whole(y)/math.Sqrt(float64(tests))
		if corrected {
			bias, sd = 0, sd/(d.response(c+0.5)-d.response(c-0.5))
		}
		worst = math.Max(worst, trueError95(bias, sd)/n.PermittedAt(c))
	}
	return worst
}

// What a bench is counted for: something is to be used, and does not do; that of averages.
const chosenAny, chosenWrong, chosenAverage, chosenAverageWrong = 0, 1, 2, 3

func chooseOf(run, table int, spread func(float64) float64, vials int, brief bool) []float64 {
	out := make([]float64, 4)
	rng := source(table, run)
	all, need := shelf(rng, spread, vials)
	var t knownwater.Trial
	for i, d := range all {
		one := d.trial(rng)
		if i == 0 {
			t = one
			t.Needs = []knownwater.Need{need}
			continue
		}
		t.Methods, t.Observations = append(t.Methods, one.Methods...), append(t.Observations, one.Observations...)
	}
	f := assess.Run(t, assess.Options{Brief: brief})
	w, ok := choose.Of(t.Needs, []choose.Trial{{Trial: t, Findings: f}}, choose.Options{}).Needs[0].Used()
	if !ok {
		return out
	}
	out[chosenAny] = 1
	for i := range all {
		if all[i].method.Name != w.Method {
			continue
		}
		wrong := b2f(all[i].worstOf(need, w.Tests, w.Corrected) > 1)
		out[chosenWrong] = wrong
		if w.Tests > 1 {
			out[chosenAverage], out[chosenAverageWrong] = 1, wrong
		}
	}
	return out
}

func chooseTable() table {
	t := table{name: "choose", title: "What to use: how often it does not do",
		head: "| spread, readings a level | benches | something is to be used | of these wrongly, 95 % limits | of averages, wrongly |",
		foot: "Benches of four displays, slopes 1 ± 0.1, each erring by 0.4 to 2.5 of what is permitted (1 from 1.5 to 6) at its worst place; what is used is the cheapest way that is called fit. Wrong: its true error is above the permitted one somewhere; of corrected results by the true response. Without averages where it says single. Meant: at most 5 %."}
	type kind struct {
		name   string
		spread func(float64) float64
		vials  int
		brief  bool
	}
	var ds []kind
	for _, s := range []int{0, 1, 2} {
		for _, n := range []int{3, 6} {
			ds = append(ds, kind{fmt.Sprintf("%s, %d, single", spreadShapes[s].name, n), spreadShapes[s].sd, n, true})
		}
	}
	ds = append(ds, kind{"two-component, 6, with averages", twoComponent, 6, false})
	for i, d := range ds {
		t.of = append(t.of, experiment{"choose: " + d.name, !d.brief, func(run int) []float64 { return chooseOf(run, 2800+i, d.spread, d.vials, d.brief) }})
	}
	t.lines = func(i int, c counts) []string {
		return []string{fmt.Sprintf("| %s | %d | %.0f | %s | %.0f of %.0f |", ds[i].name, c.Runs, c.Sum[chosenAny], share(c.Sum[chosenWrong], c.Sum[chosenAny]), c.Sum[chosenAverageWrong], c.Sum[chosenAverage])}
	}
	return t
}

// share is k of n with the exact 95 % limits of its chance (Clopper and Pearson).
func share(k, n float64) string {
	if n == 0 {
		return "0"
	}
	low, high := num.ClopperPearson(int(k), int(n), 0.05)
	return fmt.Sprintf("%.0f (%.1f %%; %.1f to %.1f)", k, 100*k/n, 100*low, 100*high)
}

// chooseDemo chooses in the demo of a seed, minutes aside, and holds what is named against the
// demo's truth at the knowns of each need: named, and serves, by need.
func chooseDemo(run int) []float64 {
	truth := demo.TruthOf(0)
	t, err := demo.Trial(uint64(run))
	if err != nil {
		panic(err)
	}
	for i := range t.Needs {
		t.Needs[i].MinutesAtMost = 0
	}
	f := assess.Run(t, assess.Options{Brief: true})
	out := make([]float64, 2*len(t.Needs))
	for i, n := range choose.Of(t.Needs, []choose.Trial{{Trial: t, Findings: f}}, choose.Options{}).Needs {
		if w, ok := n.Used(); ok {
			out[2*i], out[2*i+1] = 1, b2f(serves(w, n.Need, truth))
		}
	}
	return out
}

// serves holds a way of single tests against the truth: bias and spread at each known of the
// need, in the branch that its mean reading sends one to; corrected: the spread by the slope
// to the neighbouring knowns.
func serves(w choose.Way, n knownwater.Need, truth demo.Truth) bool {
	branch := func(dilution float64) []demo.TrueLevel {
		for _, m := range truth.Methods {
			if m.Method == w.Method && m.Dilution == dilution {
				return m.Levels
			}
		}
		return nil
	}
	dilutions := []float64{w.Dilution}
	if w.Switches && w.Dilution == 0 {
		dilutions = []float64{1, w.Factor}
	}
	checked := 0
	for b, dilution := range dilutions {
		levels := branch(dilution)
		for i, l := range levels {
			sent := len(dilutions) == 1 || (b == 0) == (l.Mean <= w.Over)
			if l.True < n.Low || l.True > n.High*1.02 || !sent {
				continue
			}
			checked++
			bias, sd := math.Abs(l.Bias), l.SD
			if w.Corrected {
				a, z := levels[max(0, i-1)], levels[min(len(levels)-1, i+1)]
				bias, sd = 0, sd*(z.True-a.True)/(z.Mean-a.Mean)
			}
			if trueError95(bias, sd) > n.PermittedAt(l.True) {
				return false
			}
		}
	}
	return checked > 0
}

func chooseDemoTable() table {
	return table{name: "choosedemo", title: "What to use in the demo: how often it serves the need", head: "| need | seeds | something is to be used | serves in truth, 95 % limits |",
		foot: "Minutes are left aside, so that each need has something to use. Truth: the demo’s own, at the knowns inside the need. Meant: at least 95 %.",
		of:   []experiment{{"choosedemo", true, chooseDemo}},
		lines: func(_ int, c counts) (lines []string) {
			for i, name := range []string{"hold 1.5 to 6", "spot more than 15", "show a rise of 1 at 3"} {
				lines = append(lines, fmt.Sprintf("| %s | %d | %.0f | %s |", name, c.Runs, c.Sum[2*i], share(c.Sum[2*i+1], c.Sum[2*i])))
			}
			return lines
		}}
}
