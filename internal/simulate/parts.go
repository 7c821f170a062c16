package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// crossed is a design that several people read in sessions, and of which a second technique was tried.
type crossed struct {
	design
	sessions               int
	session                float64   // sd, as a share of repeatability
	hasty                  []float64 // levels at which a second technique was tried
	hastySpread, hastyBias float64   // its spread ÷ the first one's, and what it reads higher, in repeatabilities
}

// partsDesigns are those whose parts of the spread, readers, techniques, steps and lines are held against the truth.
func partsDesigns() []crossed {
	few, more := []float64{0, 1.5, 6, 12, 20}, []float64{0, 1.5, 3, 6, 12, 20}
	small := func(y float64) float64 { return math.Hypot(0.2, 0.06*y) }
	large := func(y float64) float64 { return math.Hypot(0.4, 0.1*y) }
	alone := func(name string, m knownwater.Method, vials int, sd func(float64) float64, d crossed) crossed {
		d.design = design{name: name, method: m, levels: more, vials: vials, response: straight, sd: sd, vial: d.vial, again: d.again}
		d.sessions = 1
		return d
	}
	people := func(name string, m knownwater.Method, vials, sessions int, sd func(float64) float64, reader, session, vial float64) crossed {
		return crossed{design: design{name: name, method: m, levels: few, vials: vials, readers: 3, response: straight, sd: sd, reader: reader, vial: vial},
			sessions: sessions, session: session, hasty: []float64{6}, hastySpread: 1.6, hastyBias: 0.5}
	}
	return []crossed{
		alone("display, 3 vials, hasty as often", fine, 3, small, crossed{hasty: more, hastySpread: 2, hastyBias: 1}),
		alone("display, 3 vials read twice", fine, 3, small, crossed{design: design{vial: 0.5, again: 2}}),
		alone("chart, 5 vials, hasty as often", fineChart, 5, large, crossed{hasty: more, hastySpread: 1.5, hastyBias: 0.5}),
		alone("drops of 1, 4 vials, hasty as often", drops, 4, small, crossed{hasty: more, hastySpread: 1.5, hastyBias: 0.5}),
		people("display, 2 vials × 3 readers, 2 sessions, parts 0.7, 0.5, 0.5", fine, 2, 2, small, 0.7, 0.5, 0.5),
		people("display, 2 vials × 3 readers, 2 sessions, parts of 0.2", fine, 2, 2, small, 0.2, 0.2, 0.2),
		people("display, 2 vials × 3 readers, 2 sessions, no parts", fine, 2, 2, small, 0, 0, 0),
		people("chart, 3 vials × 3 readers, parts 0.7, 0.5", fineChart, 3, 1, large, 0.7, 0, 0.5),
		people("drops of 1, 3 vials × 3 readers, parts 0.7, 0.5", drops, 3, 1, small, 0.7, 0, 0.5),
		alone("display, one vial × 3 readings, vials do not differ", fine, 1, small, crossed{design: design{again: 3}}),
	}
}

// trial draws one, and says how its readers read, in repeatabilities.
func (d crossed) trial(rng *rand.Rand) (knownwater.Trial, []float64) {
	readers, of := max(1, d.readers), d.people(rng)
	t := d.unread()
	t.Needs = []knownwater.Need{{Name: "n", Low: 0, High: 20, Permitted: []knownwater.Permit{{At: 0, Error: 1}, {At: 20, Error: 4}}}}
	var session []float64
	for range d.sessions {
		session = append(session, d.session*rng.NormFloat64())
	}
	for hasty, levels := range [][]float64{d.levels, d.hasty} {
		for _, c := range levels {
			for v := range d.vials {
				vial := d.vial * rng.NormFloat64()
				for k := range readers * max(1, d.again) {
					r, s := k%readers, (v+k)%d.sessions
					y := d.response(c)
					sd := d.repeatability(y)
					y += sd * (float64(hasty)*d.hastyBias + (vial+of[r]*b2f(d.readers > 0)+session[s]+rng.NormFloat64())*math.Pow(d.hastySpread, float64(hasty)))
					o := d.observe(c, 0, y)
					o.Vial = fmt.Sprintf("v%v-%d-%d", c, v, hasty)
					if d.readers > 0 {
						o.Reader = fmt.Sprintf("r%d", r)
					}
					if d.sessions > 1 {
						o.Session = fmt.Sprintf("s%d", s)
					}
					if len(d.hasty) > 0 {
						o.Technique = []string{"book", "hasty"}[hasty]
					}
					t.Observations = append(t.Observations, o)
				}
			}
		}
	}
	return t, of
}

// The statements of the table, in its order.
var partsOf = []string{"repeatability", "reader", "session", "vial", "offset", "spread’s ratio", "difference", "step", "detection", "intercept", "slope"}

// tryParts counts, of every statement, the lower limits that lie too high, the upper ones too low, and how many there were.
func (d crossed) tryParts(rng *rand.Rand) []float64 {
	trial, people := d.trial(rng)
	f := assess.Run(trial, assess.Options{}).Methods[0]
	out := make([]float64, 3*len(partsOf))
	see := func(what string, low, high num.Number, truth float64) {
		if !low.OK() && !high.OK() {
			return
		}
		at := out[3*slices.Index(partsOf, what):]
		at[0] += b2f(float64(low) > truth)
		at[1] += b2f(float64(high) < truth)
		at[2]++
	}
	s, level, off := f.Spread, 0.0, math.Inf(1) // the level that the parts are told at
	for _, l := range f.Levels {
		if x := math.Abs(float64(l.Mean - s.At)); x < off { // not of a level that has no mean
			level, off = l.Level, x
		}
	}
	own := d.repeatability(d.response(level))
	see("repeatability", s.RepeatabilityLow, s.RepeatabilityHigh, own)
	see("reader", s.ReaderLow, s.ReaderHigh, own*d.reader)
	see("session", s.SessionLow, s.SessionHigh, own*d.session)
	see("vial", s.VialLow, s.VialHigh, own*d.vial)
	for i, o := range f.Readers {
		see("offset", o.Low, o.High, own*(people[i]-num.Mean(people)))
	}
	for _, t := range f.Techniques {
		see("spread’s ratio", t.SDRatioLow, t.SDRatioHi, d.hastySpread)
		for _, l := range t.ByLevel {
			see("difference", l.Low, l.High, d.hastyBias*d.repeatability(d.response(l.Level)))
		}
	}
	for _, step := range f.Steps {
		see("step", step.Low, step.High, crossing(func(x float64) float64 { return d.order(step.At, x, false) - 0.95 }))
	}
	if f.Limits.Detection.OK() && d.method.DropValue == 0 {
		b := boundary(d.method, fitted(f, float64(f.Limits.Critical)))
		see("detection", f.Limits.DetectionLow, f.Limits.DetectionHigh, crossing(func(c float64) float64 { return 0.05 - d.belowOfAll(c, b) }))
	}
	l := f.Line
	see("intercept", l.Intercept-2*l.InterceptSE, l.Intercept+2*l.InterceptSE, 0)
	see("slope", l.Slope-2*l.SlopeSE, l.Slope+2*l.SlopeSE, 1)
	return out
}

// crossing is where a rising function passes nothing, between 0 and 100.
func crossing(f func(x float64) float64) float64 {
	low, high := 0.0, 100.0
	for range 50 {
		if mid := (low + high) / 2; f(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// belowOfAll is the true chance that a reading at c by anybody, in any session, stays at b or below.
func (d crossed) belowOfAll(c, b float64) float64 {
	y := d.response(c)
	return num.Phi((b - y) / (d.repeatability(y) * math.Sqrt(1+d.reader*d.reader+d.session*d.session+d.vial*d.vial)))
}

// partsTable tells of every other statement with limits how often they miss.
func partsTable() table {
	ds := partsDesigns()
	t := table{name: "parts", title: "Parts of the spread, readers, techniques, steps and lines: per cent of limits that miss, lower / upper",
		head: "| method, vials a level | runs | " + strings.Join(partsOf, " | ") + " |",
		foot: "Parts are standard deviations of readers, sessions and vials, in repeatabilities; the lower limit of one that is nothing is right where it is nothing. Offsets are " +
			"those of the trial’s readers. Ratio and difference are those of the hasty technique, at every level that it was tried at; it scatters 1.5 to 2 times as much and reads higher. " +
			"Steps and detection limits are the truths’ own 95 % intervals. Of a line, two standard errors on either side. Knowns at 0, 1.5, 6, 12, 20, and at 3 where one person reads."}
	for i, d := range ds {
		t.of = append(t.of, experiment{"parts: " + d.name, d.readers > 0, func(run int) []float64 { return d.tryParts(source(2600+i, run)) }})
	}
	t.lines = func(i int, c counts) []string {
		cells := []string{ds[i].name, fmt.Sprint(c.Runs)}
		for k := range partsOf {
			if n := c.Sum[3*k+2]; n > 0 {
				cells = append(cells, fmt.Sprintf("%.1f / %.1f", 100*c.Sum[3*k]/n, 100*c.Sum[3*k+1]/n))
			} else {
				cells = append(cells, "–")
			}
		}
		return []string{"| " + strings.Join(cells, " | ") + " |"}
	}
	return t
}
