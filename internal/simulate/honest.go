package main

import (
	"fmt"
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// honestTable counts the questions that are asked about trials in which nothing went wrong.
func honestTable() table {
	t := table{name: "honest", title: "Questions: per cent of honest trials that are asked about, and held back",
		head: "| method, spread, readings a level | runs | asked anything but the water | a verdict held back |",
		foot: "Meant: at most 5 asked, 2 held back."}
	var ds []design
	for _, slope := range []float64{0.5, 0.7, 0.8, 1.25, 1.5} {
		ds = append(ds, design{name: fmt.Sprintf("display, two-component, 3, slope %g", slope), method: fine, levels: demoLevels, vials: 3, response: func(c float64) float64 { return slope * c }, sd: twoComponent})
	}
	for _, s := range spreadShapes {
		ds = append(ds, design{name: "display, " + s.name + ", 3", method: fine, levels: demoLevels, vials: 3, response: straight, sd: s.sd})
	}
	ds = append(ds,
		design{name: "display, two-component, single readings", method: fine, levels: demoLevels, vials: 1, response: straight, sd: twoComponent},
		design{name: "display, two-component, 9", method: fine, levels: demoLevels, vials: 9, response: straight, sd: twoComponent},
		design{name: "display, 10 %, 5, slope 0.6", method: fine, levels: demoLevels, vials: 5, response: func(c float64) float64 { return 0.6 * c }, sd0: 0.1, share: 0.1},
		design{name: "coarse chart, 5, slope 0.7", method: wideChart, levels: demoLevels, vials: 5, response: func(c float64) float64 { return 0.7 * c }, sd0: 0.4, share: 0.1},
		design{name: "drops of 1, 4, slope 1.3", method: drops, levels: demoLevels, vials: 4, response: func(c float64) float64 { return 1.3 * c }, sd0: 0.3, share: 0.05})
	for i, d := range ds {
		d.needs = []knownwater.Need{{Name: "need", Low: needLow, High: needHigh, Permitted: []knownwater.Permit{{At: needLow, Error: 0.6}, {At: needHigh, Error: 3}}}}
		t.of = append(t.of, experiment{"honest: " + d.name, d.readers > 0, func(run int) []float64 {
			tr := d.trial(source(2400+i, run))
			tr.WaterStated = true
			f := assess.Run(tr, assess.Options{Brief: true})
			return []float64{b2f(len(f.Questions) > 0), b2f(f.Methods[0].Needs[0].Verdict == assess.HeldBack)}
		}})
	}
	t.lines = func(i int, c counts) []string {
		return []string{fmt.Sprintf("| %s | %d | %s | %s |", strings.TrimPrefix(t.of[i].name, "honest: "), c.Runs, percent(c.rate(0)), percent(c.rate(1)))}
	}
	return t
}
