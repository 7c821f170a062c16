package assess

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/record"
)

// spanDraws is how many draws an interval of a limit or a step is made of: every second, which has about the
// limits that all have (package posterior). spanShare is the share of the range to which either is found in each.
const (
	spanDraws = 1000
	spanShare = 1e-5
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
		steps := make([]float64, st.spanLen())
		for k := range steps {
			steps[k] = st.stepOf(k, s.At)
		}
		s.Low, s.High = span(steps)
	}
}

// spanLen is how many draws there are to make an interval of.
func (st *study) spanLen() int {
	if st.post == nil {
		return min(spanDraws, st.rec.Draws())
	}
	return min(spanDraws, st.post.Form.Len())
}

// readingIn is how one reading of c is distributed in a draw of them; same: as it differs from
// another by the same reader in the same session.
func (st *study) readingIn(k int, c float64, same bool) record.Normal {
	if st.post == nil {
		d := k * st.rec.Draws() / st.spanLen()
		return reading1(st.rec, d, c, st.rec.Spread.Same)
	}
	d, at := st.post.Form, st.along(c)
	k = (2*k + 1) * d.Len() / (2 * st.spanLen())
	n := record.Normal{Mean: st.resp.Draw(st.post.Wide.Len()+k, c), SD: st.totalOfAny(d, k, at)}
	if same {
		n.SD = st.same(d, k, at)
	}
	return n
}

// detectionSpan is that of the detection limit: of each draw the level of which 95 of 100
// readings are shown above the boundary that tells from a blank, which is the one printed.
func (st *study) detectionSpan() {
	l, r := &st.finding.Limits, st.rec
	if !l.Detection.OK() {
		return
	}
	b := st.boundary()
	all := make([]float64, st.spanLen())
	for k := range all {
		all[k] = firstAbove(func(c float64) float64 { n := st.readingIn(k, c, false); return n.Mean - zApart*n.SD - b }, r.Bottom, r.Top)
	}
	l.DetectionLow, l.DetectionHigh = span(all)
}

// stepOf is the smallest step from a level under one draw; infinite where there is none.
func (st *study) stepOf(k int, from float64) float64 {
	low, top := st.readingIn(k, from, true), st.rec.Top
	order := st.rec.Shown.OrderFrom(low)
	apart := func(c float64) float64 {
		p, _ := order(st.readingIn(k, c, true))
		return p - apartChance
	}
	return firstAbove(apart, from, top) - from
}

// firstAbove is where f rises through 0 between two levels: the lower where it is above there already, infinite
// where it is not at the upper.
func firstAbove(f func(c float64) float64, from, top float64) float64 {
	c, err := num.Root(f, from, top, spanShare*(top-from))
	switch {
	case err == nil:
		return c
	case f(top) >= 0:
		return from
	}
	return math.Inf(1)
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
