package assess

import (
	"cmp"
	"math"
	"sync"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/record"
)

// averages judges averages of a procedure's tests: the first undiluted reading says
// whether the sample is diluted, and all tests of the average are made in that branch,
//
//	P(|average − c| ≤ E) = P(reading ≤ over)·P(|average undiluted − c| ≤ E) + P(reading > over)·P(|average diluted − c| ≤ E).
func (s switched) averages(n knownwater.Need) []Average {
	if s.plain.opt.Brief || !tried(s.plain.levels, n) && !tried(s.diluted.levels, n) || s.plain.post == nil || s.diluted.post == nil || s.plain.rec == nil || s.diluted.rec == nil {
		return []Average{}
	}
	low, high := s.span(n)
	_, open := s.uncovered(n)
	uses := s.plain.uses()
	if !s.diluted.readersKnown() {
		uses = uses[:2]
	}
	return judgeUses(n, uses, s.spots(low, high), func(c float64) [][2]averageError { return s.averagesAt(c, uses) }, open, s.averageRule())
}

func (s switched) averageRule() rule { return s.plain.averageRule().with(s.diluted.averageRule()) }

// averagesAt are the errors of averages at c, as read and corrected, for every use: of one branch
// where no sample goes to the other, whatever the draw.
func (s switched) averagesAt(c float64, uses []use) [][2]averageError {
	if out, ok := s.plain.switchedAverages[c]; ok {
		return out
	}
	var out [][2]averageError
	switch stay, leave := s.branches(c); {
	case stay:
		out = s.plain.averagesAt(c, uses)
	case leave:
		n := len(s.plain.behaviourAt(c).wide) / everyOf
		other := func(e averageError) averageError {
			return averageError{sync.OnceValue(func() ratios { return e.whole().inOrder(n) }), e.within}
		}
		for _, e := range s.diluted.averagesAt(c, uses) {
			out = append(out, [2]averageError{other(e[0]), other(e[1])})
		}
	default:
		u, d, by := s.plain.averageResults(c, uses), s.diluted.averageResults(c, uses), s.averageRule()
		for i := range uses {
			out = append(out, [2]averageError{averageErrorOf(s.averageGlimpse(c, u[i][0], d[i][0]), by), averageErrorOf(s.averageGlimpse(c, u[i][1], d[i][1]), by)})
		}
	}
	if s.plain.switchedAverages == nil {
		s.plain.switchedAverages = map[float64][][2]averageError{}
	}
	s.plain.switchedAverages[c] = out
	return out
}

// averageResults are averages at c as results: as read, and corrected by the response's
// slope there.
func (st *study) averageResults(c float64, uses []use) [][2]drawsOf {
	t := st.turnAt(c)
	out := make([][2]drawsOf, len(uses))
	if st.inSteps() {
		numbers, told := st.numbersAt(c)
		for i, u := range uses {
			average := st.averageDraws(c, u)
			out[i] = [2]drawsOf{joined(numbers, told, 0, average, u), joined(numbers, told, 1, average, u)}
		}
		return out
	}
	step := 0.01 * st.top()
	slope := math.Max((t.at(c+step)-t.at(c-step))/(2*step), 1e-9)
	centre, rounding := t.at(c), st.rec.Shown.Step/math.Sqrt(12)
	for i, u := range uses {
		average := st.averageDraws(c, u)
		out[i] = [2]drawsOf{
			average.mapped(rounding, func(mean, sd float64) record.Normal { return record.Normal{Mean: mean, SD: sd} }),
			average.mapped(rounding, func(mean, sd float64) record.Normal {
				return record.Normal{Mean: c + (mean-centre)/slope, SD: sd / slope}
			})}
	}
	return out
}

// mapped are the results that come of draws, their rounding counted as a variance.
func (d drawsOf) mapped(rounding float64, result func(mean, sd float64) record.Normal) drawsOf {
	to := func(of func(k int) record.Normal, shown func(k int) rounded) func(k int) record.Normal {
		return func(k int) record.Normal {
			n := of(k)
			if shown != nil {
				return result(n.Mean, shown(k).sd)
			}
			return result(n.Mean, math.Hypot(n.SD, rounding))
		}
	}
	form, wide := to(d.form, d.formShown), to(d.wide, d.wideShown)
	d.form, d.wide, d.formShown, d.wideShown = form, wide, nil, nil
	n := d.wides
	d.varMean = sync.OnceValue(func() float64 {
		return variance(drawn(n, func(k int) float64 { return wide(k).Mean }))
	})
	return d
}

// averageGlimpse are the draws of error_95 of an average at c, u and d the averages of
// the branches, whose draws are put in orders of their own.
func (s switched) averageGlimpse(c float64, u, d drawsOf) glimpse {
	one, leaves := s.plain.behaviourAt(c), s.leaves()
	guess := 0.0
	error95 := func(first, a, b record.Normal) float64 {
		left := leaves(first)
		switch { // one branch alone
		case left < seldom:
			return normalAt(c).of(a)
		case left > 1-seldom:
			return normalAt(c).of(b)
		}
		e := solve95(func(e float64) (p, slope float64) {
			weight := 1 - left
			for _, n := range [2]record.Normal{a, b} {
				above, s1 := num.QuickPhiSlope((c + e - n.Mean) / n.SD)
				below, s2 := num.QuickPhiSlope((c - e - n.Mean) / n.SD)
				p, slope = p+weight*(above-below), slope+weight*(s1+s2)/n.SD
				weight = left
			}
			return p, slope
		}, cmp.Or(guess, a.SD+b.SD), 0)
		if !math.IsInf(e, 1) && e > 0 {
			guess = e
		}
		return e
	}
	forms, wides := orderOf(d.forms, formsOrder), orderOf(d.wides, widesOrder)
	wide := func(k int, of func(n record.Normal, d drawsOf) record.Normal) float64 {
		return error95(one.wide[everyOf*k], of(u.wide(k), u), of(d.wide(wides[k*len(wides)/u.wides]), d))
	}
	return glimpse{forms: u.forms, wides: u.wides,
		form: func(k int) float64 {
			return error95(one.form[everyOf*k], u.form(k), d.form(forms[k*len(forms)/u.forms]))
		},
		wide: func(k int) float64 {
			return wide(k, func(n record.Normal, of drawsOf) record.Normal { return lessBias(n, c, of.varMean()) })
		},
		own: func(k int) float64 {
			return wide(k, func(n record.Normal, _ drawsOf) record.Normal { return record.Normal{Mean: c, SD: n.SD} })
		}}
}

// span is the part of a need that the knowns of either branch reached.
func (s switched) span(n knownwater.Need) (low, high float64) {
	bottom, top := math.Min(s.plain.rec.Bottom, s.diluted.rec.Bottom), math.Max(s.plain.rec.Top, s.diluted.rec.Top)
	return math.Min(math.Max(n.Low, bottom), top), math.Max(math.Min(n.High, top), bottom)
}
