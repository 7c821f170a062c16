package assess

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// spanDraws is how many draws the upper end of an interval of a limit or a step is made of, and leastDraws the lower one, which is
// near: every second and every fourth, which have about the limits that all have (package posterior). spanShare is the share of the
// range to which either is found in each.
const (
	spanDraws  = 1000
	leastDraws = 500
	spanShare  = 1e-5
)

// spanned says where the truth of the limits and steps lies, 95 of 100: of each draw of
// the record its own, worked out as if that were known, and of those the 2.5 and the 97.5 %
// quantile. As of errors the upper end is told by the prior that favours a form and the lower one by the wide one, of no more scatter
// than is sure (sureSD): by the other one's draws lower ends of charts' steps lay too high in 10 of 100 trials. The limits
// themselves hold for readings with the doubt in them, so that they lie
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
		s.Low, s.High = st.spanOf(func(read readings) float64 { return st.stepOf(read, s.At) })
	}
}

// readings are how one reading of a level is distributed in a draw; same: as it differs from
// another by the same reader in the same session.
type readings func(c float64, same bool) record.Normal

// spanOf is the interval of what each draw makes of a limit.
func (st *study) spanOf(of func(read readings) float64) (low, high num.Number) {
	if st.post == nil {
		all := make([]float64, min(spanDraws, st.rec.Draws()))
		for k := range all {
			d := k * st.rec.Draws() / len(all)
			all[k] = of(func(c float64, _ bool) record.Normal { return reading1(st.rec, d, c, st.rec.Spread.Same) })
		}
		return end(all, 0.025), end(all, 0.975)
	}
	wide, form := st.post.Wide, st.post.Form
	lows, highs := make([]float64, min(leastDraws, wide.Len())), make([]float64, min(spanDraws, form.Len()))
	for k := range lows {
		draw := (2*k + 1) * wide.Len() / (2 * len(lows))
		lows[k] = of(func(c float64, same bool) record.Normal {
			return record.Normal{Mean: st.resp.Draw(draw, c), SD: st.sureSD(wide, draw, st.along(c), same)}
		})
	}
	for k := range highs {
		draw := (2*k + 1) * form.Len() / (2 * len(highs))
		highs[k] = of(func(c float64, same bool) record.Normal {
			n := record.Normal{Mean: st.resp.Draw(wide.Len()+draw, c), SD: st.totalOfAny(form, draw, st.along(c))}
			if same {
				n.SD = st.same(form, draw, st.along(c))
			}
			return n
		})
	}
	return end(lows, 0.025), end(highs, 0.975)
}

// sureSD is draw k's standard deviation of a single reading somewhere, as total and same, without what may as well be nothing: scatter where
// hands may be steady, vials of which no level shows two, parts that the readings do not rule out to be nothing. Of three parts
// that may each be nothing the draws have hardly any in which all are: of displays that three read in two sessions, who differed by as much as
// repeats do, the lower ends of detection limits lay too high in 7 of 100 trials, so in 2.
func (st *study) sureSD(d *posterior.Draws, k int, at between, same bool) float64 {
	square := 1.0
	for f, sure := range st.sureParts() {
		if sure && (!same || st.data.Factors[f].Nested) {
			part := at.part(d, f, k)
			square += part * part
		}
	}
	sd := at.repeatability(d, k) * math.Sqrt(square)
	if st.mayNotScatter(at) {
		sd *= hardly
	}
	return sd
}

// detectionSpan is that of the detection limit: of each draw the level of which 95 of 100
// readings are shown above the boundary that tells from a blank, which is the one printed.
func (st *study) detectionSpan() {
	l, r := &st.finding.Limits, st.rec
	if !l.Detection.OK() {
		return
	}
	b := st.boundary()
	l.DetectionLow, l.DetectionHigh = st.spanOf(func(read readings) float64 {
		return firstAbove(func(c float64) float64 { n := read(c, false); return n.Mean - zApart*n.SD - b }, r.Bottom, r.Top)
	})
}

// stepOf is the smallest step from a level under one draw; infinite where there is none.
func (st *study) stepOf(read readings, from float64) float64 {
	low, top := read(from, true), st.rec.Top
	order := st.rec.Shown.OrderFrom(low)
	apart := func(c float64) float64 {
		p, _ := order(read(c, true))
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

// end is a quantile of values, which it sorts; infinite it is none.
func end(values []float64, p float64) num.Number {
	slices.Sort(values)
	v := values[int(math.Round(p*float64(len(values)-1)))]
	if math.IsInf(v, 0) {
		return num.None
	}
	return num.Number(v)
}

// needBegins says whether a level is the last known at or below the lower end of a need.
func (st *study) needBegins(level float64) bool {
	return slices.ContainsFunc(st.needs, func(n knownwater.Need) bool {
		next := st.next(level)
		return level <= n.Low*(1+1e-9) && !(next <= n.Low*(1+1e-9)) || level > n.Low && level == st.levels[0].value
	})
}
