package main

import (
	"fmt"
	"io"
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
		design{name: "display, two-component, 3, knowns ±3 %", method: fine, levels: demoLevels, vials: 3, response: straight, sd: spreadShapes[2].sd, uLevel: func(c float64) float64 { return 0.03 * c }},
		design{name: "chart, 6", method: chart, levels: demoLevels, vials: 6, response: straight, sd0: 0.6, share: 0.12},
		design{name: "drops of 1, 4", method: drops, levels: demoLevels, vials: 4, response: straight, sd0: 0.3, share: 0.05},
		three(design{name: "display, 2 vials × 3 readers", method: fine, levels: demoLevels, response: straight, sd: spreadShapes[2].sd}),
	)
}

// promised is what became of one undecided need.
type promised struct{ undecided, named, kept, wrong, tests, hopeless float64 }

// asPromised draws a trial with a ratio of its own, and as many tests more as it asks for.
func (d design) asPromised(rng *rand.Rand) (p promised) {
	ratio := 0.4 * math.Pow(6.25, rng.Float64())
	need := knownwater.Need{Name: "need", Low: 1.5, High: 20}
	for i := range 45 {
		c := 1.5 + 18.5*float64(i)/44
		need.Permitted = append(need.Permitted, knownwater.Permit{At: c, Error: trueError95(d.response(c)-c, d.whole(d.response(c))) / ratio})
	}
	d.needs = []knownwater.Need{need}
	people := d.people(rng)
	t := d.trialBy(people, rng)
	verdict := func(t knownwater.Trial) assess.NeedFinding {
		return assess.Run(t, assess.Options{Brief: true}).Methods[0].Needs[0]
	}
	n := verdict(t)
	if n.Verdict != assess.Undecided {
		return p
	}
	p.undecided = 1
	if !n.MoreTests.OK() {
		return p
	}
	each := float64(n.MoreTests) / float64(len(d.levels))
	d.vials = int(math.Ceil(each / float64(max(1, d.readers))))
	for _, o := range d.trialBy(people, rng).Observations {
		o.Vial += "+"
		t.Observations = append(t.Observations, o)
	}
	p.named, p.tests = 1, float64(n.MoreTests)
	switch v := verdict(t).Verdict; {
	case v == assess.Undecided:
	case v == assess.NotFit && ratio <= 1 || v == assess.Fit && ratio > 1:
		p.wrong, p.kept = 1, 1
	default:
		p.kept = 1
	}
	return p
}

func promiseTable(w io.Writer, runs int) {
	fmt.Fprintf(w, "\n### More tests: how often as many as named settled it, %d trials a row\n\n", runs)
	fmt.Fprintln(w, "| trial | undecided | of them with a number | kept | of these wrongly | tests named, middle |\n|---|---|---|---|---|---|")
	for i, d := range promiseDesigns() {
		var sum promised
		for _, p := range collect(runs, func(run int) promised { return d.asPromised(source(600+i, run)) }) {
			sum = promised{sum.undecided + p.undecided, sum.named + p.named, sum.kept + p.kept, sum.wrong + p.wrong, sum.tests + p.tests, 0}
		}
		fmt.Fprintf(w, "| %s | %.0f | %.0f | %.0f %% | %.0f | %.0f |\n", d.name, sum.undecided, sum.named, 100*sum.kept/sum.named, sum.wrong, sum.tests/sum.named)
	}
}
