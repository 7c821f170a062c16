package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// readingDesigns are the trials by which later readings are read.
func readingDesigns() []design {
	three := func(d design) design { d.vials, d.readers, d.reader, d.vial = 3, 3, 0.5, 0.5; return d }
	signal := knownwater.Method{Name: "cell", Kind: knownwater.Absorbance, Resolution: 0.001}
	return []design{
		{name: "display, 3 a level, spread 0.3", method: display, levels: demoLevels, vials: 3, response: straight, sd0: 0.3},
		three(design{name: "display, 3 vials × 3 readers, spread 0.1 and 5 %", method: display, levels: demoLevels, response: straight, sd0: 0.1, share: 0.05}),
		{name: "absorbance, stray light, 3 a level, 0.004 and 3 %", method: signal, levels: []float64{0, 0.6, 1.5, 3, 6, 9, 12}, vials: 3, response: strayLight, sd0: 0.004, share: 0.03},
		three(design{name: "chart, 3 vials × 3 readers, spread 0.3 and 10 %", method: chart, levels: demoLevels, response: straight, sd0: 0.3, share: 0.10}),
		three(design{name: "drops of 1, 3 vials × 3 readers, spread 0.3 and 5 %", method: drops, levels: demoLevels, response: straight, sd0: 0.3, share: 0.05}),
	}
}

func strayLight(c float64) float64 {
	return 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010)
}

// readingCase is how a sample was read: n readings by somebody of the trial or by anybody.
type readingCase struct {
	n     int
	named bool
}

func (d design) readingCases() (out []readingCase) {
	for n := 1; n <= 3; n++ {
		if d.readers > 0 {
			out = append(out, readingCase{n, true})
		}
		out = append(out, readingCase{n, false})
	}
	return out
}

func readingTable(w io.Writer, runs int) {
	fmt.Fprintf(w, "\n### Later readings: how often the 95 %% set holds the water, %d trials a row\n\n", runs)
	fmt.Fprintln(w, "| trial | readings | reader | held, lowest to highest level | width, lowest to highest level |\n|---|---|---|---|---|")
	for i, d := range readingDesigns() {
		for j, c := range d.tryReading(i, runs) {
			fmt.Fprintln(w, d.readingRow(d.readingCases()[j], c))
		}
	}
	fmt.Fprintln(w, "\nWidth is the median of that of the set ÷ that of somebody who knew response, spread and reader, open ends cut at what was tried.")
}

func (d design) readingRow(k readingCase, r readingRates) string {
	who, held, wide := "anybody", "", ""
	if k.named {
		who = "of the trial"
	}
	for i := range r.held {
		held += fmt.Sprintf(" %.1f", 100*r.held[i])
		wide += fmt.Sprintf(" %.2f", r.wide[i])
	}
	return fmt.Sprintf("| %s | %d | %s |%s |%s |", d.name, k.n, who, held, wide)
}

// readingFate is what became of one sample.
type readingFate struct {
	held bool
	wide float64 // against somebody who knew everything
}

// readingRates are, by level, the share of sets that hold the water, and the middle width.
type readingRates struct{ held, wide []float64 }

// tryReading reads samples of every level in every case by each of the trials.
func (d design) tryReading(task, runs int) []readingRates {
	cases := d.readingCases()
	fates := collect(runs, func(run int) [][]readingFate {
		rng := source(400+task, run)
		people := d.people(rng)
		p, err := assess.PerformanceOf(d.trialBy(people, rng), "", "", assess.Options{Seed: uint64(run)})
		if err != nil {
			panic(err)
		}
		out := make([][]readingFate, len(cases))
		for j, k := range cases {
			for _, c := range d.levels {
				out[j] = append(out[j], d.readOne(p, c, k, people, rng))
			}
		}
		return out
	})
	rates := make([]readingRates, len(cases))
	for j := range cases {
		for i := range d.levels {
			n, ratios := 0.0, make([]float64, runs)
			for run, f := range fates {
				if f[j][i].held {
					n++
				}
				ratios[run] = f[j][i].wide
			}
			rates[j].held = append(rates[j].held, n/float64(runs))
			rates[j].wide = append(rates[j].wide, num.Quantile(slices.Sorted(slices.Values(ratios)), 0.5))
		}
	}
	return rates
}

// readOne draws the readings of one sample and reads them by the trial.
func (d design) readOne(p *assess.Performance, c float64, k readingCase, people []float64, rng *rand.Rand) readingFate {
	q, own := result.Question{}, d.reader*rng.NormFloat64()
	if k.named {
		q.Reader, own = "r0", people[0]
	}
	if d.readers == 0 {
		own = 0
	}
	var seen []interval.Interval
	for range k.n {
		text := reading.Show(d.latent(c, own+d.vial*rng.NormFloat64(), rng), d.method)
		i, err := reading.Understand(text, d.method)
		if err != nil {
			panic(err)
		}
		q.Readings, seen = append(q.Readings, text), append(seen, i)
	}
	o, err := p.Read(q)
	if err != nil {
		panic(err)
	}
	top := d.levels[len(d.levels)-1]
	r := o.Result
	high := r.High
	if r.Open == inverse.Above {
		high = top
	}
	known := knower{d, k, own, top}
	best := inverse.Turn(known, interval.Mean(seen))
	bestHigh := best.High
	if best.Open == inverse.Above {
		bestHigh = top
	}
	return readingFate{
		held: r.Low <= c && (c <= r.High || r.Open == inverse.Above),
		wide: (high - r.Low + 1e-9) / (bestHigh - best.Low + 1e-9),
	}
}

// knower is somebody who knows the response, the spread and the reader.
type knower struct {
	design
	readingCase
	own, top float64
}

func (t knower) Range() (bottom, top float64) { return 0, t.top }

func (t knower) Knots() []float64 {
	out := make([]float64, 81)
	for i := range out {
		share := float64(i) / 80
		out[i] = t.top * share * share
	}
	return out
}

// Margin by two one-sided tests of 2.5 % on a normal mean.
func (t knower) Margin(c float64, seen interval.Interval) float64 {
	y := t.response(c)
	base := t.repeatability(y)
	sd, at := base*math.Sqrt((1+t.vial*t.vial)/float64(t.n)), y+base*t.own
	if !t.named {
		sd, at = math.Hypot(sd, base*t.reader*b2f(t.readers > 0)), y
	}
	return math.Min(seen.High-at, at-seen.Low) + 1.959964*sd
}

func (t knower) Level(y float64) float64 {
	lo, hi := 0.0, t.top
	for range 60 {
		if m := (lo + hi) / 2; t.response(m) < y {
			lo = m
		} else {
			hi = m
		}
	}
	return lo
}
