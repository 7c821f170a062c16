package assess

import (
	"cmp"
	"math"

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
	places := make([][]place, len(uses))
	for _, c := range s.spots(low, high) {
		for i, both := range s.averagesAt(c, uses) {
			places[i] = append(places[i], placeOf(c, n.PermittedAt(c), both))
		}
	}
	return judgeUses(uses, places, open, s.plain.averageRule())
}

// averagesAt are the draws of the error of averages at c, as read and corrected, for every use:
// of one branch where no sample goes to the other, whatever the draw.
func (s switched) averagesAt(c float64, uses []use) [][2]ratios {
	if out, ok := s.plain.switchedAverages[c]; ok {
		return out
	}
	var out [][2]ratios
	switch stay, leave := s.branches(c); {
	case stay:
		out = s.plain.averagesAt(c, uses)
	case leave:
		for _, e := range s.diluted.averagesAt(c, uses) {
			out = append(out, reordered(e, len(s.plain.behaviourAt(c).wide)/everyOf))
		}
	default:
		u, d := s.plain.averageResults(c, uses), s.diluted.averageResults(c, uses)
		for i := range uses {
			out = append(out, [2]ratios{s.averageRatios(c, u[i][0], d[i][0]), s.averageRatios(c, u[i][1], d[i][1])})
		}
	}
	if s.plain.switchedAverages == nil {
		s.plain.switchedAverages = map[float64][][2]ratios{}
	}
	s.plain.switchedAverages[c] = out
	return out
}

// averageResults are averages at c as results: as read, and corrected by the response's
// slope there.
func (st *study) averageResults(c float64, uses []use) [][2]behaviour {
	one, t := st.behaviourAt(c).some(), st.turnAt(c)
	out := make([][2]behaviour, len(uses))
	if st.inSteps() {
		raw, corr := st.asNumbers(one, t)
		for i, u := range uses {
			average, root := one.times(st.lessThanOne(u)), math.Sqrt(float64(u.tests))
			out[i] = [2]behaviour{raw.join(average, root), corr.join(average, root)}
		}
		return out
	}
	step := 0.01 * st.top()
	slope := math.Max((t.at(c+step)-t.at(c-step))/(2*step), 1e-9)
	centre, rounding := t.at(c), st.rec.Shown.Step/math.Sqrt(12)
	for i, u := range uses {
		average := one.times(st.lessThanOne(u))
		out[i] = [2]behaviour{
			average.mapped(func(n record.Normal) record.Normal {
				return record.Normal{Mean: n.Mean, SD: math.Hypot(n.SD, rounding)}
			}),
			average.mapped(func(n record.Normal) record.Normal {
				return record.Normal{Mean: c + (n.Mean-centre)/slope, SD: math.Hypot(n.SD, rounding) / slope}
			})}
	}
	return out
}

func (b behaviour) mapped(to func(record.Normal) record.Normal) behaviour {
	all := func(list []record.Normal) []record.Normal {
		out := make([]record.Normal, len(list))
		for i, n := range list {
			out[i] = to(n)
		}
		return out
	}
	out := behaviour{wide: all(b.wide), form: all(b.form)}
	out.varMean = varianceOf(out.wide)
	return out
}

// averageRatios are the draws of log(error_95) of an average at c, u and d the averages of
// the branches, whose draws are put in orders of their own.
func (s switched) averageRatios(c float64, u, d behaviour) ratios {
	one, leaves := s.plain.behaviourAt(c).some(), s.leaves()
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
	forms, wides := orderOf(len(d.form), formsOrder), orderOf(len(d.wide), widesOrder)
	wide := func(k int, of func(n record.Normal, varMean float64) record.Normal) float64 {
		return error95(one.wide[k], of(u.wide[k], u.varMean), of(d.wide[wides[k*len(wides)/len(u.wide)]], d.varMean))
	}
	return glimpse{forms: len(u.form), wides: len(u.wide),
		form: func(k int) float64 { return error95(one.form[k], u.form[k], d.form[forms[k*len(forms)/len(u.form)]]) },
		wide: func(k int) float64 {
			return wide(k, func(n record.Normal, varMean float64) record.Normal { return lessBias(n, c, varMean) })
		},
		own: func(k int) float64 {
			return wide(k, func(n record.Normal, _ float64) record.Normal { return record.Normal{Mean: c, SD: n.SD} })
		}}.whole(s.plain.averageRule())
}

// span is the part of a need that the knowns of either branch reached.
func (s switched) span(n knownwater.Need) (low, high float64) {
	bottom, top := math.Min(s.plain.rec.Bottom, s.diluted.rec.Bottom), math.Max(s.plain.rec.Top, s.diluted.rec.Top)
	return math.Min(math.Max(n.Low, bottom), top), math.Max(math.Min(n.High, top), bottom)
}
