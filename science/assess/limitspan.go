package assess

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/record"
)

// spanDraws is how many draws of the record an interval of a limit or a step is made of, and
// spanHalvings how often a step is halved for each: to a 500th of the range.
const (
	spanDraws    = 120
	spanHalvings = 9
)

// spanned says where the truth of the limits and steps lies, 95 of 100: of each draw of
// the record its own, worked out as if that were known, and of those the 2.5 and the 97.5 %
// quantile. The limits themselves hold for readings with the doubt in them, so that they lie
// well up in their interval where the trial is small. Steps only where a need begins, from
// the last known at or below that, since that is where they are asked for; a draw whose
// highest known is not told apart has no end.
func (st *study) spanned() {
	if st.rec == nil || st.opt.Brief {
		return
	}
	st.detectionSpan()
	for i := range st.finding.Steps {
		s := &st.finding.Steps[i]
		s.Low, s.High = num.None, num.None
		if !s.SmallestStep.OK() || !st.needBegins(s.At) {
			continue
		}
		r := st.rec
		steps := make([]float64, min(spanDraws, r.Draws()))
		for k := range steps {
			d := k * r.Draws() / len(steps)
			steps[k] = stepOf(r, d, s.At)
		}
		s.Low, s.High = span(steps)
	}
}

// detectionSpan is that of the detection limit: of each draw the level of which 95 of 100
// readings are shown above the boundary that tells from a blank, which is the one printed.
func (st *study) detectionSpan() {
	l, r := &st.finding.Limits, st.rec
	if !l.Detection.OK() {
		return
	}
	b := st.boundary()
	all := make([]float64, min(spanDraws, r.Draws()))
	for k := range all {
		d := k * r.Draws() / len(all)
		misses := func(c float64) float64 { n := r.Reading(d, c); return n.Mean - zApart*n.SD }
		all[k] = math.Inf(1)
		if top := r.Top; misses(top) >= b {
			lo, hi := r.Bottom, top
			for range 2 * spanHalvings {
				if mid := (lo + hi) / 2; misses(mid) >= b {
					hi = mid
				} else {
					lo = mid
				}
			}
			all[k] = hi
		}
	}
	l.DetectionLow, l.DetectionHigh = span(all)
}

// stepOf is the smallest step from a level under one draw; infinite where there is none.
func stepOf(r *record.Record, d int, from float64) float64 {
	low := reading1(r, d, from, r.Spread.Same)
	apart := func(c float64) bool {
		p, _ := r.Shown.Order(low, reading1(r, d, c, r.Spread.Same))
		return p >= apartChance
	}
	lo, hi := from, r.Top
	if !apart(hi) {
		return math.Inf(1)
	}
	for range spanHalvings {
		if mid := (lo + hi) / 2; apart(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi - from
}

// span is the middle 95 % of values; an end that is infinite is none.
func span(values []float64) (low, high num.Number) {
	slices.Sort(values)
	end := func(p float64) num.Number {
		v := values[int(math.Round(p*float64(len(values)-1)))]
		if math.IsInf(v, 0) {
			return num.None
		}
		return num.Number(v)
	}
	return end(0.025), end(0.975)
}

// needBegins says whether a level is the last known at or below the lower end of a need.
func (st *study) needBegins(level float64) bool {
	return slices.ContainsFunc(st.needs, func(n knownwater.Need) bool {
		next := st.next(level)
		return level <= n.Low*(1+1e-9) && !(next <= n.Low*(1+1e-9)) || level > n.Low && level == st.levels[0].value
	})
}
