package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/assess"
)

// promiseDesigns are trials whose error lies anywhere from 0.4 to 2.5 of what is permitted.
func promiseDesigns() []design {
	three := func(d design) design { d.vials, d.readers, d.reader, d.vial = 2, 3, 0.5, 0.5; return d }
	var ds []design
	for _, s := range spreadShapes {
		ds = append(ds, design{name: "display, " + s.name + ", 3", method: fine, levels: demoLevels, vials: 3, response: straight, sd: s.sd})
	}
	return append(ds,
		design{name: "display, two-component, 5, 6 % high", method: fine, levels: demoLevels, vials: 5, response: func(c float64) float64 { return 1.06 * c }, sd: spreadShapes[2].sd},
		design{name: "display, two-component, 3, knowns ±1 %", method: fine, levels: demoLevels, vials: 3, response: straight, sd: spreadShapes[2].sd, uLevel: func(c float64) float64 { return 0.01 * c }},
		design{name: "chart, 6", method: wideChart, levels: demoLevels, vials: 6, response: straight, sd0: 0.6, share: 0.12},
		design{name: "drops of 1, 4", method: drops, levels: demoLevels, vials: 4, response: straight, sd0: 0.3, share: 0.05},
		three(design{name: "display, 2 vials × 3 readers", method: fine, levels: demoLevels, response: straight, sd: spreadShapes[2].sd}),
	)
}

// asPromised draws a trial with a ratio of its own, and as many tests more as it asks
// for: undecided, named, kept, kept by a verdict that the truth forbids, tests.
func (d design) asPromised(rng *rand.Rand) []float64 {
	out := make([]float64, 5)
	ratio := 0.4 * math.Pow(6.25, rng.Float64())
	need := knownwater.Need{Name: "need", Low: needLow, High: needHigh}
	most := 0.0
	for i := range 45 {
		c := needLow + (needHigh-needLow)*float64(i)/44
		need.Permitted = append(need.Permitted, knownwater.Permit{At: c, Error: d.trueError(c) / ratio})
		most = math.Max(most, d.trueError(c))
	}
	if len(d.answers()) > 0 {
		need.Permitted = []knownwater.Permit{{At: needLow, Error: most / ratio}, {At: needHigh, Error: most / ratio}}
	}
	d.needs = []knownwater.Need{need}
	people := d.people(rng)
	t := d.trialBy(people, rng)
	n := assess.Run(t, assess.Options{Promises: true, Brief: true}).Methods[0].Needs[0]
	if n.Verdict != assess.Undecided {
		return out
	}
	out[0] = 1
	if !n.MoreTests.OK() {
		return out
	}
	out[1], out[4] = 1, float64(n.MoreTests)
	each := float64(n.MoreTests) / float64(len(d.levels))
	d.vials = int(math.Ceil(each / float64(max(1, d.readers))))
	for _, o := range d.trialBy(people, rng).Observations {
		o.Vial += "+"
		t.Observations = append(t.Observations, o)
	}
	switch v := brief(t).Needs[0].Verdict; {
	case v == assess.Undecided:
	case v == assess.NotFit && ratio <= 1 || v == assess.Fit && ratio > 1:
		out[2], out[3] = 1, 1
	default:
		out[2] = 1
	}
	return out
}

func promiseTable() table {
	t := table{name: "promise", title: "More tests: how often as many as named settled it",
		head: "| method, spread, readings a level | trials | undecided | with a number | kept | of these wrongly | tests named, mean |",
		foot: "The true error is anywhere from 0.4 to 2.5 of the permitted one. Meant: kept in at least 75 of 100, promised in 80."}
	ds := promiseDesigns()
	for i, d := range ds {
		t.of = append(t.of, experiment{"promise: " + d.name, d.readers > 0, func(run int) []float64 { return d.asPromised(source(2500+i, run)) }})
	}
	t.lines = func(i int, c counts) []string {
		return []string{fmt.Sprintf("| %s | %d | %.0f | %.0f | %.0f %% | %.0f | %.0f |", ds[i].name, c.Runs, c.Sum[0], c.Sum[1], 100*c.Sum[2]/math.Max(1, c.Sum[1]), c.Sum[3], c.Sum[4]/math.Max(1, c.Sum[1]))}
	}
	return t
}
