package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/assess"
)

// roamer draws designs of one sort at random: what they measure with, how the response goes and how far apart the knowns
// lie. Every trial is of another design, so that a row says what is so of the sort; of the designs named
// elsewhere, each for itself, it says nothing.
type roamer struct {
	shown   string
	bends   string
	far     bool // knowns that lie three to seven times apart
	method  func(rng *rand.Rand) knownwater.Method
	answers func(top float64, rng *rand.Rand) func(c float64) float64
}

// roamers are all sorts.
func roamers() (all []roamer) {
	one := func(of ...float64) func(*rand.Rand) float64 {
		return func(rng *rand.Rand) float64 { return of[rng.IntN(len(of))] }
	}
	digit, drop := one(0.1, 0.5, 1), one(0.5, 1, 2)
	between := func(low, high float64, rng *rand.Rand) float64 { return low + (high-low)*rng.Float64() }
	for _, m := range []struct {
		shown string
		of    func(rng *rand.Rand) knownwater.Method
	}{
		{"display", func(*rand.Rand) knownwater.Method { return fine }},
		{"display in steps of 0.1, 0.5 or 1", func(rng *rand.Rand) knownwater.Method {
			return knownwater.Method{Name: "display", Kind: knownwater.Display, Resolution: digit(rng)}
		}},
		{"fine chart", func(*rand.Rand) knownwater.Method { return fineChart }},
		{"drops of 0.5, 1 or 2", func(rng *rand.Rand) knownwater.Method {
			return knownwater.Method{Name: "drops", Kind: knownwater.Drops, DropValue: drop(rng)}
		}},
	} {
		for _, b := range []struct {
			name string
			of   func(top float64, rng *rand.Rand) func(c float64) float64
		}{
			{"straight", func(float64, *rand.Rand) func(float64) float64 { return straight }},
			{"another slope", func(_ float64, rng *rand.Rand) func(float64) float64 {
				slope := between(0.6, 1.4, rng)
				return func(c float64) float64 { return slope * c }
			}},
			{"flattens off", func(top float64, rng *rand.Rand) func(float64) float64 {
				half := top * between(0.4, 2.9, rng)
				return func(c float64) float64 { return c / (1 + c/half) }
			}},
			{"power", func(top float64, rng *rand.Rand) func(float64) float64 {
				power := between(0.75, 1.25, rng)
				return func(c float64) float64 { return top * math.Pow(c/top, power) }
			}},
			{"dead zone", func(top float64, rng *rand.Rand) func(float64) float64 {
				zone := top * between(0.03, 0.28, rng)
				soft := zone * between(0.05, 0.35, rng)
				return func(c float64) float64 { return soft * math.Log1p(math.Exp((c-zone)/soft)) }
			}},
			{"a kink", func(top float64, rng *rand.Rand) func(float64) float64 {
				at, slope := top*between(0.1, 0.8, rng), between(0.3, 0.8, rng)
				if rng.IntN(2) == 0 {
					slope = 1 / slope
				}
				return func(c float64) float64 { return c + (slope-1)*math.Max(0, c-at) }
			}},
		} {
			for _, far := range []bool{false, true} {
				all = append(all, roamer{m.shown, b.name, far, m.of, b.of})
			}
		}
	}
	return all
}

func (r roamer) name() string {
	if r.far {
		return r.shown + ", " + r.bends + ", knowns far apart"
	}
	return r.shown + ", " + r.bends
}

// roamingRatios are those of the true error to the permitted one.
var roamingRatios = []float64{0.5, 1, 1.1, 2}

// design draws one: with so many readings a level, a spread that goes as one of the five and is half to twice as large.
func (r roamer) design(rng *rand.Rand) design {
	d := design{levels: demoLevels, vials: []int{3, 4, 5, 7, 9}[rng.IntN(5)], method: r.method(rng)}
	if r.far {
		d.levels = []float64{0}
		round := func(c float64) float64 { return math.Round(10*c) / 10 }
		for c := round(0.8 + 1.7*rng.Float64()); len(d.levels) < 4 || c < 60; c = round(c * (3 + 4*rng.Float64())) {
			d.levels = append(d.levels, c)
		}
	}
	shape, scale := spreadShapes[rng.IntN(len(spreadShapes))], math.Exp2(2*rng.Float64()-1)
	d.sd = func(y float64) float64 { return scale * shape.sd(math.Max(y, 0)) }
	d.response = r.answers(d.levels[len(d.levels)-1], rng)
	return d.withNeeds(roamingRatios...)
}

// What a trial of a design at random is counted for; the limits by the share of places at which they miss.
const (
	roamMeanLow = iota
	roamMeanHigh
	roamSDLow
	roamSDHigh
	roamErrorLow
	roamErrorHigh
	roamVerdicts // fit and not fit by ratio
)

func (r roamer) judge(table, run int) []float64 {
	rng := source(table, run)
	d := r.design(rng)
	f := assess.Run(d.trial(rng), assess.Options{Brief: true}).Methods[0]
	out := make([]float64, roamVerdicts+2*len(roamingRatios))
	for _, l := range f.Levels {
		y := d.response(l.Level)
		sd, n := d.whole(y), float64(len(f.Levels))
		for i, miss := range []float64{above(l.MeanLow, y), below(l.MeanHigh, y), above(l.SDLow, sd), below(l.SDHigh, sd)} {
			out[roamMeanLow+i] += miss / n
		}
	}
	along := f.Needs[1].Along
	for _, a := range along {
		truth, n := d.trueError(a.At), float64(len(along))
		out[roamErrorLow] += above(a.RawLow, truth) / n
		out[roamErrorHigh] += below(a.RawHigh, truth) / n
	}
	for i, n := range f.Needs {
		out[roamVerdicts+2*i] = b2f(n.Raw.Verdict == assess.Fit)
		out[roamVerdicts+2*i+1] = b2f(n.Raw.Verdict == assess.NotFit)
	}
	return out
}

func roamingTable() table {
	rs := roamers()
	head := "| method, response | runs | mean’s limits | spread’s | error’s |"
	for _, r := range roamingRatios {
		head += fmt.Sprintf(" %g |", r)
	}
	t := table{name: "roaming", head: head + " wrong |",
		title: "Designs drawn at random: per cent of limits that miss, lower and upper, and of verdicts as read, fit / not fit, by true error ÷ permitted",
		foot:  "Every trial is of another design: 3 to 9 readings a level, a spread of one of the five kinds, half to twice as large; knowns at " + list(demoLevels) + " or, far apart, three to seven times each other. Limits miss at so many of the places, on average. The permitted error is the true one at every place (of answers in steps, at the worst), so that a verdict is wrong where it is so at one."}
	for i, r := range rs {
		t.of = append(t.of, experiment{"roaming: " + r.name(), false, func(run int) []float64 { return r.judge(1500+i, run) }})
	}
	t.lines = func(i int, c counts) []string {
		line := fmt.Sprintf("| %s | %d |", rs[i].name(), c.Runs)
		for k := roamMeanLow; k < roamVerdicts; k += 2 {
			line += fmt.Sprintf(" %s %s |", percent(c.rate(k)), percent(c.rate(k+1)))
		}
		wrong := 0.0
		for k, ratio := range roamingRatios {
			fit, not := c.rate(roamVerdicts+2*k), c.rate(roamVerdicts+2*k+1)
			line += fmt.Sprintf(" %s / %s |", percent(fit), percent(not))
			if ratio > 1 {
				not = fit
			}
			wrong = math.Max(wrong, not)
		}
		return []string{line + " " + percent(wrong) + " |"}
	}
	return t
}
