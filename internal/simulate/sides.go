package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// shapes of the spread over the true concentration.
var spreadShapes = []struct {
	name string
	sd   func(c float64) float64
}{
	{"constant", func(float64) float64 { return 0.3 }},
	{"proportional", func(c float64) float64 { return 0.01 + 0.05*c }},
	{"two-component", func(c float64) float64 { return math.Hypot(0.1, 0.05*c) }},
	{"falling", func(c float64) float64 { return 0.5 / (1 + c/4) }},
	{"humped", func(c float64) float64 {
		t := math.Log((c + 0.75) / 3)
		return 0.5 * math.Exp(-0.7*t*t)
	}},
}

// sideDesigns are displays whose spread takes every shape, with few readings.
func sideDesigns() []design {
	var ds []design
	for _, s := range spreadShapes {
		for _, n := range []int{2, 3, 5} {
			ds = append(ds, design{name: fmt.Sprintf("%s, %d", s.name, n), method: fine, levels: demoLevels, vials: n, response: straight, sd: s.sd})
		}
	}
	return append(ds,
		design{name: "two-component, 3, slips", method: fine, levels: demoLevels, vials: 3, response: straight, sd: spreadShapes[2].sd, tail: slips5},
		design{name: "two-component, 3, t3", method: fine, levels: demoLevels, vials: 3, response: straight, sd: spreadShapes[2].sd, tail: t3},
	)
}

var fine = knownwater.Method{Name: "display", Kind: knownwater.Display, Resolution: 0.001}

// misses counts on which side printed limits miss, by level.
type misses struct{ meanLow, meanHigh, sdLow, sdHigh []float64 }

func trySides(d design, table, runs int) misses {
	outs := collect(runs, func(run int) [][4]bool {
		var all [][4]bool
		for _, l := range assessed(d.trial(source(400+table, run)), run).Methods[0].Levels {
			y, sd := d.response(l.Level), d.whole(d.response(l.Level))
			above := func(n assess.Number, v float64) bool { return n.OK() && float64(n) > v }
			below := func(n assess.Number, v float64) bool { return n.OK() && float64(n) < v }
			all = append(all, [4]bool{above(l.MeanLow, y), below(l.MeanHigh, y), above(l.SDLow, sd), below(l.SDHigh, sd)})
		}
		return all
	})
	n := len(d.levels)
	m := misses{make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)}
	for _, o := range outs {
		for i, b := range o {
			for k, list := range [][]float64{m.meanLow, m.meanHigh, m.sdLow, m.sdHigh} {
				if b[k] {
					list[i] += 1 / float64(runs)
				}
			}
		}
	}
	return m
}

func sidesTable(w io.Writer, runs int, name string) {
	fmt.Fprintf(w, "\n### Each side at each level: per cent of printed limits that miss, %d trials a row\n\n", runs)
	fmt.Fprintln(w, "| spread, readings a level | mean's lower limit | upper | spread's lower limit | upper |\n|---|---|---|---|---|")
	for i, d := range sideDesigns() {
		if strings.Contains(d.name, name) {
			m := trySides(d, i, runs)
			fmt.Fprintf(w, "| %s | %s | %s | %s | %s |\n", d.name, percents(m.meanLow), percents(m.meanHigh), percents(m.sdLow), percents(m.sdHigh))
		}
	}
	fmt.Fprintf(w, "\nKnowns at %v.\n", strings.Trim(strings.Join(strings.Fields(fmt.Sprint(demoLevels)), ", "), "[]"))
}

func percents(v []float64) string {
	var parts []string
	for _, x := range v {
		parts = append(parts, fmt.Sprintf("%.1f", 100*x))
	}
	return strings.Join(parts, " ")
}

// borderLevels are the knowns of the verdict tables.
var borderLevels = []float64{1, 2, 4, 6, 8, 10, 12}

// borderDesigns put error ÷ permitted to the same ratio at every place.
func borderDesigns() []design {
	var ds []design
	for _, b := range []struct {
		name string
		bias float64 // a share of the level
		sd   func(c float64) float64
		n    int
	}{
		{"proportional spread, 3", 0, func(c float64) float64 { return 0.05 * c }, 3},
		{"constant spread, 3", 0, func(float64) float64 { return 0.3 }, 3},
		{"bias 8 %, spread 2 %, 3", 0.08, func(c float64) float64 { return 0.02 * c }, 3},
		{"falling spread, 5", 0, func(c float64) float64 { return 0.6 / (1 + c/4) }, 5},
		{"humped spread, 5", 0, func(c float64) float64 { t := math.Log(c / 4); return 0.4 * math.Exp(-0.7*t*t) }, 5},
		{"proportional spread, 2", 0, func(c float64) float64 { return 0.05 * c }, 2},
		{"proportional spread, 9", 0, func(c float64) float64 { return 0.05 * c }, 9},
	} {
		for _, ratio := range []float64{0.5, 0.8, 0.9, 1, 1.1, 1.25, 2} {
			need := knownwater.Need{Name: "need", Low: 1, High: 12}
			for i := range 45 {
				c := 1 + 11*float64(i)/44
				need.Permitted = append(need.Permitted, knownwater.Permit{At: c, Error: trueError95(b.bias*c, b.sd(c)) / ratio})
			}
			slope, sd := 1+b.bias, b.sd
			ds = append(ds, design{name: b.name, method: fine, levels: borderLevels, vials: b.n, ratio: ratio,
				response: func(c float64) float64 { return slope * c }, sd: func(y float64) float64 { return sd(y / slope) }, needs: []knownwater.Need{need}})
		}
	}
	return ds
}
