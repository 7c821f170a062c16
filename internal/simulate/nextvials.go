package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/choose"
)

// nextDesign is a bench whose first trial is small: three vials of each known. Its need
// permits the same error everywhere, or, following, in the proportion of the true one.
type nextDesign struct {
	design
	following bool
}

func nextDesigns() []nextDesign {
	var ds []nextDesign
	for _, s := range []int{2, 1, 0, 3} {
		ds = append(ds, nextDesign{design: design{name: "display, " + spreadShapes[s].name + ", 3", method: fine, levels: demoLevels, vials: 3, response: straight, sd: spreadShapes[s].sd}})
	}
	high := design{name: "display, two-component, 3, 6 % high", method: fine, levels: demoLevels, vials: 3, response: func(c float64) float64 { return 1.06 * c }, sd: twoComponent}
	return append(ds, nextDesign{design: high}, nextDesign{design: design{name: "display, two-component, 3, the need follows the error", method: fine, levels: demoLevels, vials: 3, response: straight, sd: twoComponent}, following: true})
}

// advisedAgain is how often the first advice is carried out, each time by readings of its own.
const advisedAgain = 4

// mostSettling is how many further tests are made on a bench before it is left open.
const mostSettling = 72

// What a bench is counted for: undecided, the first advice's chance and how often it came
// true, then how many tests it took as advised and evenly (one-hot, the last: not settled),
// and wrong verdicts of each.
const (
	nextOpen, nextAdvised, nextChance, nextSettled, nextWrong, nextWrongEven, nextHead = 0, 1, 2, 3, 4, 5, 6
)

// span is where a bench's true error lies anywhere in, of the permitted one.
type span struct{ low, times float64 }

// bench draws a first trial and says how large its true error is; d comes back with its need.
func (d nextDesign) bench(in span, rng *rand.Rand) (with nextDesign, start knownwater.Trial, ratio float64) {
	ratio = in.low * math.Pow(in.times, rng.Float64())
	need, most := knownwater.Need{Name: "need", Low: needLow, High: 6}, 0.0
	for i := range 45 {
		c := need.Low + (need.High-need.Low)*float64(i)/44
		need.Permitted = append(need.Permitted, knownwater.Permit{At: c, Error: d.trueError(c) / ratio})
		most = math.Max(most, d.trueError(c))
	}
	if !d.following {
		need.Permitted = []knownwater.Permit{{At: need.Low, Error: most / ratio}}
	}
	d.needs = []knownwater.Need{need}
	return d, d.trial(rng), ratio
}

// advice is the first next experiment for a bench, and how often it came true when it was
// carried out so many times, each with readings of its own; none where nothing is open.
func (d nextDesign) advice(t knownwater.Trial, f assess.Findings, times int, rng *rand.Rand) (first *choose.Experiment, came float64) {
	trials := []choose.Trial{{Trial: t, Findings: f}}
	next := choose.Next(choose.Of(d.needs, trials, choose.Options{}), trials, choose.Ahead{})
	if len(next) == 0 {
		return nil, 0
	}
	for range times {
		v := brief(d.more(t, at(next[0]), next[0].Vials[0].Readings, rng)).Needs[0].Verdict
		came += b2f(v != assess.Undecided) / float64(times)
	}
	return &next[0], came
}

// at are the knowns of an experiment's vials.
func at(x choose.Experiment) (levels []float64) {
	for _, v := range x.Vials {
		levels = append(levels, v.Level)
	}
	return levels
}

// settle draws a bench whose true error is anywhere from 0.4 to 2.5 of the permitted one and
// tests on until its need is decided: the vials that are advised, or as many an evening of
// all knowns in turn.
func (d nextDesign) settle(table, run int) []float64 {
	rng := source(table, run)
	out := make([]float64, nextHead+2*(mostSettling+1))
	d, start, ratio := d.bench(span{0.4, 6.25}, rng)
	f := assess.Run(start, assess.Options{Brief: true})
	if f.Methods[0].Needs[0].Verdict != assess.Undecided {
		return out
	}
	out[nextOpen] = 1
	wrong := func(verdict string) float64 {
		return b2f(verdict == assess.NotFit && ratio <= 1 || verdict == assess.Fit && ratio > 1)
	}

	t, tests := start, 0
	for first := true; tests < mostSettling; first = false {
		f = assess.Run(t, assess.Options{Brief: true})
		if v := f.Methods[0].Needs[0].Verdict; v != assess.Undecided {
			out[nextWrong] = wrong(v)
			break
		}
		times := 0
		if first {
			times = advisedAgain
		}
		next, came := d.advice(t, f, times, source(table+100, run))
		if next == nil { // nothing is promised: one of each known
			t, tests = d.more(t, d.levels, 1, rng), tests+len(d.levels)
			continue
		}
		if first {
			out[nextAdvised], out[nextChance], out[nextSettled] = 1, next.PSettles, came
		}
		t, tests = d.more(t, at(*next), next.Vials[0].Readings, rng), tests+next.Tests()
	}
	out[nextHead+min(tests, mostSettling)] = 1

	t, tests, rng = start, 0, source(table+50, run) // its own chance, whatever the advice was
	turn := 0
	for tests < mostSettling {
		if v := brief(t).Needs[0].Verdict; v != assess.Undecided {
			out[nextWrongEven] = wrong(v)
			break
		}
		var evening []float64 // 12 tests over the knowns, in turn
		for range 12 {
			evening = append(evening, d.levels[turn%len(d.levels)])
			turn++
		}
		t, tests = d.more(t, evening, 1, rng), tests+12
	}
	out[nextHead+mostSettling+1+min(tests, mostSettling)] = 1
	return out
}

// more adds so many new vials of each of some levels to a trial.
func (d design) more(t knownwater.Trial, levels []float64, each int, rng *rand.Rand) knownwater.Trial {
	d.levels, d.vials = levels, each
	all := t.Observations[:len(t.Observations):len(t.Observations)]
	for _, o := range d.trial(rng).Observations {
		o.Vial = fmt.Sprintf("%s+%d", o.Vial, len(all))
		all = append(all, o)
	}
	t.Observations = all
	return t
}

func nextTable() table {
	t := table{name: "next", title: "The next experiment: how many tests settle a need",
		head: "| method, spread, readings a level | benches | undecided | tests as advised, median | evenly, median | fewer | first advice: chance said | came true | wrong in the end, advised | evenly |",
		foot: fmt.Sprintf("Benches that the first trial leaves undecided, true error at its worst place anywhere from 0.4 to 2.5 of the permitted one, which is the same from 1.5 to 6 (where it says so it follows the true error), knowns at %s. Each tests on until its need is decided, %d tests at most (counted as that). Evenings of twelve tests. The first advice is carried out %d times, each with readings of its own.", list(demoLevels), mostSettling, advisedAgain)}
	ds := nextDesigns()
	for i, d := range ds {
		t.of = append(t.of, experiment{"next: " + d.name, true, func(run int) []float64 { return d.settle(2700+i, run) }})
	}
	t.lines = func(i int, c counts) []string {
		n := c.Sum[nextOpen]
		a, e := median(c.Sum[nextHead:nextHead+mostSettling+1]), median(c.Sum[nextHead+mostSettling+1:])
		return []string{fmt.Sprintf("| %s | %d | %.0f | %d | %d | %.0f %% | %.0f %% | %.0f %% | %.0f | %.0f |", ds[i].name, c.Runs, n, a, e, 100-100*float64(a)/float64(max(1, e)),
			100*c.Sum[nextChance]/math.Max(1, c.Sum[nextAdvised]), 100*c.Sum[nextSettled]/math.Max(1, c.Sum[nextAdvised]), c.Sum[nextWrong], c.Sum[nextWrongEven])}
	}
	return t
}

// median of counts by value.
func median(of []float64) int {
	all, sum := 0.0, 0.0
	for _, n := range of {
		all += n
	}
	for v, n := range of {
		if sum += n; sum >= all/2 {
			return v
		}
	}
	return 0
}
