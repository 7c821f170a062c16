package control

import (
	"math"
	"slices"

	"knownwater/science/interval"
)

// Limits are those of a row: where it signals, after how many checks on average while
// nothing has moved, and within how many where the method has moved by Shift.
//
// Numbers are held on three charts, steps of a scale on two, each of which takes its part
// of the false alarms; that any of them rings is at least as rare as RunLength.
type Limits struct {
	Shift      float64 // standard deviations of one check
	Individual float64 // numbers: a check beyond ± this
	Average    EWMA    // numbers
	Sum        float64 // of scores, above which it signals; half of it is its head start
	Rare       float64 // steps: a step whose chance, with all beyond it, is smaller
	// RunLength is the number of checks per false alarm over all that is not known of the
	// record; from Least to Most in 80 of 100 of its draws.
	RunLength, Least, Most float64
	// Delay is the number of checks within which, in half of all cases, a shift of Shift either way rings that begins after some checks
	// that had not moved, over all that is not known of the record; DelayMost that in which enough of them do. A record in
	// doubt may hide a part of the shift. Infinite: not within Furthest.
	Delay, DelayMost float64
}

// lambda of the weighted average: each check weighs a fifth.
const lambda = 0.2

// limits for a row. Not ok: no chart can be drawn, since steps tell nothing.
//
// A limit is set so that the rate of false alarms, 1/run length, is on average over the
// draws what is asked: a record that may be off by much gets wide limits.
func (r Row) limits(ms []model) (l Limits, ok bool) {
	l = Limits{Shift: r.shift() + doubt(ms)}
	if r.Tiles == nil {
		part := 3 * r.between()
		l.Individual = solveFor(part, 1, 12, func(x float64) float64 { return rate(ms, func(n Normal, _ model) float64 { return Individuals(x, n) }) })
		l.Average = EWMA{lambda, solveFor(part, 0.5, 12, func(x float64) float64 {
			return rate(ms, func(n Normal, _ model) float64 { return EWMA{lambda, x}.RunLength(n) })
		})}
		h := solveFor(part, 0.5, 40, func(x float64) float64 {
			return rate(ms, func(n Normal, _ model) float64 { return l.cusum(x).BothSides(n) })
		})
		l.Sum = h * l.Shift
		l.summary(ms)
		return l, true
	}
	l.Rare = 1 / (6 * r.between()) // either side: a third of the false alarms
	sums := func(x float64) func(Normal, model) float64 {
		return func(n Normal, m model) float64 { return l.sums(x, n, m) }
	}
	part := 1 / (1/r.between() - 1/rate(ms, func(n Normal, m model) float64 { return 1 / math.Max(l.rare(n, m), 1e-300) }))
	if l.Sum = solveFor(part, 0.05, 40, func(x float64) float64 { return rate(ms, sums(x)) }); l.Sum >= 40 {
		return l, false
	}
	l.summary(ms)
	return l, !math.IsInf(l.Delay, 1)
}

// doubt is the standard deviation of the draws' means, in standard deviations of a check: by so
// much the sums are aimed further, as what the record may be off by takes its part of a shift.
func doubt(ms []model) float64 {
	square := 0.0
	for _, m := range ms {
		for _, d := range m.draws {
			square += m.weight * d.Mean * d.Mean / float64(len(m.draws))
		}
	}
	return math.Sqrt(square)
}

// headStart is the share of their limit at which sums start at the first check. After some checks
// that have not moved they are near 0.
const headStart = 0.5

// cusum of numbers, its height in standard deviations.
func (l Limits) cusum(h float64) CUSUM { return CUSUM{l.Shift / 2, h, headStart * h} }

// sums is the run length of the two sums of steps.
func (l Limits) sums(h float64, n Normal, m model) float64 {
	up, down := m.steps(n, l.Shift), m.steps(n, -l.Shift)
	zero := Scores{H: h}
	u, d := zero.RunLength(up), zero.RunLength(down)
	from := Scores{H: h, Start: headStart * h}
	return TwoSided(from.RunLength(up), u, from.RunLength(down), d)
}

// steps are what can be shown, with the scores aimed at a shift.
func (m model) steps(n Normal, shift float64) (out []Step) {
	for _, t := range m.tiles {
		if p := n.chance(t); p > 1e-12 {
			out = append(out, Step{p, score(t, shift)})
		}
	}
	return out
}

// rare is the chance of a step that by itself is a signal.
func (l Limits) rare(n Normal, m model) (p float64) {
	for _, t := range m.tiles {
		if m.isRare(t, l.Rare) {
			p += n.chance(t)
		}
	}
	return p
}

// isRare says whether a step, with all beyond it on its side, has less than a chance, on
// average over the draws.
func (m model) isRare(t interval.Interval, chance float64) bool {
	var up, down float64
	for _, d := range m.draws {
		up += 1 - d.below(t.Low)
		down += d.below(t.High)
	}
	return math.Min(up, down) < chance*float64(len(m.draws))
}

// rate is one over the mean rate of signals.
func rate(ms []model, runLength func(Normal, model) float64) float64 {
	sum := 0.0
	for _, m := range ms {
		for _, d := range m.draws {
			sum += m.weight / float64(len(m.draws)) / runLength(d, m)
		}
	}
	return 1 / sum
}

// runLengths are those of each chart of a row while checks come as n.
func (l Limits) runLengths(n Normal, m model) []float64 {
	if m.tiles == nil {
		return []float64{Individuals(l.Individual, n), l.Average.RunLength(n), l.cusum(l.Sum / l.Shift).BothSides(n)}
	}
	return []float64{1 / l.rare(n, m), l.sums(l.Sum, n, m)}
}

// summary fills in what the charts do together.
func (l *Limits) summary(ms []model) {
	together := func(n Normal, m model) float64 {
		sum := 0.0
		for _, x := range l.runLengths(n, m) {
			sum += 1 / x
		}
		return 1 / sum
	}
	l.RunLength = rate(ms, together)
	var all []float64
	for _, m := range ms {
		for _, d := range m.draws {
			all = append(all, together(d, m))
		}
	}
	slices.Sort(all)
	l.Least, l.Most = all[len(all)/10], all[len(all)-1-len(all)/10]
	rang := l.rings(ms, before, eitherWay(l.Shift))
	l.Delay, l.DelayMost = reachedBy(rang, 0.5), reachedBy(rang, enough)
}

// solveFor is the x in [a, b] at which a rising run length is as asked; b where it does
// not come so far.
func solveFor(want, a, b float64, runLength func(x float64) float64) float64 {
	goal := math.Log(want)
	at := func(x float64) float64 { return math.Min(math.Log(runLength(x)), 60) - goal }
	low, fl := a, at(a)
	if fl >= 0 {
		return a
	}
	high, fh := a, fl
	for step := (b - a) / 16; fh < 0; { // upwards, so that no run length is asked that is too large to compute
		if high >= b {
			return b
		}
		low, fl = high, fh
		high = math.Min(b, high+step)
		fh = at(high)
	}
	for range 40 { // run lengths of steps jump: halve where the straight line does not help
		x := low + (high-low)*math.Min(0.9, math.Max(0.1, -fl/(fh-fl)))
		f := at(x)
		if f < 0 {
			low, fl = x, f
		} else {
			high, fh = x, f
		}
		if high-low < 3e-3*high {
			break
		}
	}
	return high
}
