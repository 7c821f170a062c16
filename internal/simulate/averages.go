package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"knownwater"
	"knownwater/internal/madeup"
	"knownwater/science/assess"
)

// averageTable holds verdicts on averages against the truth: the error of an average
// of n tests without bias is that of one ÷ √n.
func averageTable() table {
	t := table{name: "averages", title: "Averages: per cent fit / not fit of the average of 2 and of 3 tests, by its true error ÷ permitted",
		head: "| method, spread, readings a level | runs | 2 tests, 0.5 | 1 | 1.25 | 2 | 3 tests, 0.5 | 1 | 1.25 | 2 |",
		foot: "Wrong: not fit up to 1, fit above."}
	at := []float64{0.5, 1, 1.25, 2}
	ds := []design{
		{name: "display, constant, 5", method: fine, levels: demoLevels, vials: 5, response: straight, sd: spreadShapes[0].sd},
		{name: "display, two-component, 3", method: fine, levels: demoLevels, vials: 3, response: straight, sd: twoComponent},
		{name: "display in steps of 1, constant, 5", method: units, levels: demoLevels, vials: 5, response: straight, sd: spreadShapes[0].sd},
		{name: "display in steps of 1, proportional, 5", method: units, levels: demoLevels, vials: 5, response: straight, sd: spreadShapes[1].sd},
	}
	for i, d := range ds {
		needs := sync.OnceValue(func() (all []knownwater.Need) { // what is true takes a while, and nobody may ask for this row
			for _, n := range []int{2, 3} {
				var of [45]knownwater.Permit
				for j := range of {
					c := needLow + (needHigh-needLow)*float64(j)/44
					of[j] = knownwater.Permit{At: c, Error: d.averageError(c, n)}
				}
				for _, r := range at {
					need := knownwater.Need{Name: fmt.Sprint(n, r), Low: needLow, High: needHigh}
					for _, p := range of {
						need.Permitted = append(need.Permitted, knownwater.Permit{At: p.At, Error: p.Error / r})
					}
					all = append(all, need)
				}
			}
			return all
		})
		t.of = append(t.of, experiment{"averages: " + d.name, false, func(run int) (out []float64) {
			d := d
			d.needs = needs()
			f := assess.Run(d.trial(source(2200+i, run)), assess.Options{}).Methods[0]
			for j, n := range f.Needs {
				a := n.Averages[j/len(at)]
				out = append(out, b2f(a.Verdict == assess.Fit || a.Verdict == assess.FitWhenCorrected), b2f(a.Verdict == assess.NotFit))
			}
			return out
		}})
	}
	t.lines = func(i int, c counts) []string {
		line := fmt.Sprintf("| %s | %d |", ds[i].name, c.Runs)
		for j := 0; j < len(c.Sum); j += 2 {
			line += fmt.Sprintf(" %s / %s |", percent(c.rate(j)), percent(c.rate(j+1)))
		}
		return []string{line}
	}
	return t
}

// averageError is the error that 95 % of averages of n tests at c keep within. Of a display whose steps are wide beside
// its scatter tests are rounded alike: it is worked out from what is shown, averaged over where the steps may lie.
func (d design) averageError(c float64, n int) float64 {
	y := d.response(c)
	sd, step := d.whole(y), d.method.Resolution
	if step < sd/2 {
		return d.trueError(c) / math.Sqrt(float64(n))
	}
	return madeup.AverageError(n, y-c, sd, step)
}

// lotTable holds lots against the truth: two bottles far apart, and three that differ by chance.
func lotTable() table {
	t := table{name: "lots", title: "Lots: per cent",
		head: "| lots | runs | ratio’s lower limit misses | upper limit | called fit or fit when corrected | not fit |",
		foot: "Display, two-component spread, three readings of each lot at every level; 10 % (at least 0.3) is permitted from 1.5 to 20. Of the first no lot is as the other: a correction that is right for one is 9 % off for both, with scatter beyond what is permitted. Those of the second row are lots of a brand that differ by 3 %; some trials of it are fit."}
	for i, spread := range []float64{0, 0.03} {
		name := "two, at a ratio of 0.82"
		if spread > 0 {
			name = "three, standard deviation 3 %"
		}
		t.of = append(t.of, experiment{"lots: " + name, true, func(run int) []float64 { return tryLots(spread, source(2300+i, run)) }})
	}
	t.lines = func(i int, c counts) []string {
		return []string{fmt.Sprintf("| %s | %d | %s | %s | %s | %s |", t.of[i].name[len("lots: "):], c.Runs, percent(c.rate(0)), percent(c.rate(1)), percent(c.rate(2)), percent(c.rate(3)))}
	}
	return t
}

func tryLots(spread float64, rng *rand.Rand) []float64 {
	lots := []float64{1, 0.82}
	if spread > 0 {
		lots = []float64{1 + spread*rng.NormFloat64(), 1 + spread*rng.NormFloat64(), 1 + spread*rng.NormFloat64()}
	}
	d := design{method: fine, levels: demoLevels, vials: 3 * len(lots), response: straight, sd: twoComponent, lots: lots,
		needs: []knownwater.Need{{Name: "need", Low: needLow, High: needHigh, Permitted: []knownwater.Permit{{At: 1.5, Error: 0.3}, {At: 3, Error: 0.3}, {At: 20, Error: 2}}}}}
	f := brief(d.trial(rng))
	mean := 0.0
	for _, l := range lots {
		mean += l / float64(len(lots))
	}
	out := make([]float64, 4)
	for i, l := range f.Lots {
		truth := lots[i] / mean
		out[0] += above(l.Low, truth) / float64(len(lots))
		out[1] += below(l.High, truth) / float64(len(lots))
	}
	switch f.Needs[0].Verdict {
	case assess.Fit, assess.FitWhenCorrected:
		out[2] = 1
	case assess.NotFit:
		out[3] = 1
	}
	return out
}
