package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// readingDesigns are the trials by which later readings are read.
func readingDesigns() []design {
	three := func(d design) design { d.vials, d.readers, d.reader, d.vial = 3, 3, 0.5, 0.5; return d }
	hump := spreadShapes[len(spreadShapes)-1].sd
	return []design{
		{name: "display, 3 a level, spread 0.3", method: display, levels: demoLevels, vials: 3, response: straight, sd0: 0.3},
		three(design{name: "display, 3 vials × 3 readers, spread 0.1 and 5 %", method: display, levels: demoLevels, response: straight, sd0: 0.1, share: 0.05}),
		{name: "absorbance, stray light, 3 a level, 0.004 and 3 %", method: absorbance, levels: []float64{0, 0.6, 1.5, 3, 6, 9, 12}, vials: 3, response: strayLight, sd0: 0.004, share: 0.03},
		three(design{name: "chart, 3 vials × 3 readers, spread 0.3 and 10 %", method: wideChart, levels: demoLevels, response: straight, sd0: 0.3, share: 0.10}),
		three(design{name: "drops of 1, 3 vials × 3 readers, spread 0.3 and 5 %", method: drops, levels: demoLevels, response: straight, sd0: 0.3, share: 0.05}),
		{name: "display that flattens off, 5 a level, half way between knowns", method: fine, levels: demoLevels, vials: 5, sd0: 0.05, share: 0.01, between: true,
			response: func(c float64) float64 { return 30 * (1 - math.Exp(-c/25)) }},
		{name: "display with a kink at 8, 3 a level, half way between knowns", method: fine, levels: demoLevels, vials: 3, sd0: 0.05, share: 0.02, between: true,
			response: func(c float64) float64 { return c - 0.6*math.Max(0, c-8) }},
		{name: "display, 2 a level, spread with a hump", method: fine, levels: demoLevels, vials: 2, response: straight, sd: hump},
		{name: "display, 2 a level, spread with a hump, half way between knowns", method: fine, levels: demoLevels, vials: 2, response: straight, sd: hump, between: true},
	}
}

// samples are the waters that are read.
func (d design) samples() []float64 {
	if !d.between {
		return d.levels
	}
	out := make([]float64, len(d.levels)-1)
	for i := range out {
		out[i] = (d.levels[i] + d.levels[i+1]) / 2
	}
	return out
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

// readingTable counts, in every case and of every water, the sets that hold the water,
// and adds up the logarithms of their widths.
func readingTable() table {
	t := table{name: "reading", title: "Later readings: per cent of 95 % sets that hold the water, by water from the lowest up",
		head: "| trial | runs | readings | reader | held | width |",
		foot: "Width: of the set against that of somebody who knew response, spread and reader, open ends cut at what was tried (geometric mean). Meant: 93 to 98.5 of displays and absorbance above nothing, at least 93 of charts, drops and at nothing; half way between knowns 92 on average."}
	ds := readingDesigns()
	for i, d := range ds {
		t.of = append(t.of, experiment{"reading: " + d.name, d.readers > 0, func(run int) []float64 { return d.tryReading(source(2600+i, run)) }})
	}
	t.lines = func(i int, c counts) (lines []string) {
		at := 0
		for _, k := range ds[i].readingCases() {
			who, held, wide := "anybody", "", ""
			if k.named {
				who = "of the trial"
			}
			for range ds[i].samples() {
				held += " " + percent(c.rate(at))
				wide += fmt.Sprintf(" %.2f", math.Exp(c.Sum[at+1]/math.Max(1, c.Sum[at+2])))
				at += 3
			}
			lines = append(lines, fmt.Sprintf("| %s | %d | %d | %s |%s |%s |", ds[i].name, c.Runs, k.n, who, held, wide))
		}
		return lines
	}
	return t
}

// tryReading reads samples of every water in every case by one trial.
func (d design) tryReading(rng *rand.Rand) (out []float64) {
	people := d.people(rng)
	p, err := assess.PerformanceOf(d.trialBy(people, rng), "", "", assess.Options{})
	if err != nil {
		panic(err)
	}
	for _, k := range d.readingCases() {
		for _, c := range d.samples() {
			f := d.readOne(p, c, k, people, rng)
			out = append(out, b2f(f.held), f.logWide, b2f(f.logWide != 0))
		}
	}
	return out
}

// readingFate is what became of one sample.
type readingFate struct {
	held    bool
	logWide float64 // against somebody who knew everything; 0 where he had nothing to say
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
	fate := readingFate{held: r.Low <= c && (c <= r.High || r.Open == inverse.Above)}
	if width := bestHigh - best.Low; width > 0.01*best.Low && high > r.Low {
		fate.logWide = math.Log((high - r.Low) / width)
	}
	return fate
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
