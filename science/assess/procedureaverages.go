package assess

import (
	"math"

	"knownwater"
	"knownwater/science/posterior"
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
		p := n.PermittedAt(c)
		one := s.plain.behaviourAt(c).fewer()
		u, d := s.plain.averageResults(c, uses), s.diluted.averageResults(c, uses)
		for i := range uses {
			places[i] = append(places[i], place{c, p, s.averageRatios(c, p, one, u[i][0], d[i][0]), s.averageRatios(c, p, one, u[i][1], d[i][1])})
		}
	}
	return judgeUses(uses, places, open, s.plain.rule(0).tail)
}

// averageResults are averages at c as results: as read, and corrected by the response's
// slope there.
func (st *study) averageResults(c float64, uses []use) [][2]behaviour {
	one, t := st.behaviourAt(c).fewer(), st.turnAt(c)
	out := make([][2]behaviour, len(uses))
	if st.inSteps() {
		raw := st.asNumbers(one, func(a record.Answer) float64 { return a.Value })
		corr := st.asNumbers(one, t.value)
		for i, u := range uses {
			average, root := one.times(st.lessThanOne(st.post.Wide, u), st.lessThanOne(st.upper(), u)), math.Sqrt(float64(u.tests))
			out[i] = [2]behaviour{raw.join(average, root), corr.join(average, root)}
		}
		return out
	}
	step := 0.01 * st.top()
	slope := math.Max((t.at(c+step)-t.at(c-step))/(2*step), 1e-9)
	centre, rounding := t.at(c), st.rec.Shown.Step/math.Sqrt(12)
	for i, u := range uses {
		average := one.times(st.lessThanOne(st.post.Wide, u), st.lessThanOne(st.upper(), u))
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

// averageRatios are the draws of log(error_95/permitted) of an average at c; one is how
// the first undiluted reading is distributed, u and d the averages of the branches, whose
// draws are put in orders of their own.
func (s switched) averageRatios(c, permitted float64, one, u, d behaviour) ratios {
	edge := s.over + s.plain.rec.Shown.Step/2
	guess := math.Max(permitted, 1e-12)
	log := func(first, a, b record.Normal) float64 {
		stay := posterior.Phi((edge - first.Mean) / first.SD)
		switch { // one branch alone
		case stay > 1-seldom:
			return logRatio(normalAt(c).of(a), permitted)
		case stay < seldom:
			return logRatio(normalAt(c).of(b), permitted)
		}
		inside := func(n record.Normal, e float64) float64 {
			return posterior.Phi((c+e-n.Mean)/n.SD) - posterior.Phi((c-e-n.Mean)/n.SD)
		}
		e := solve95(func(e float64) float64 { return stay*inside(a, e) + (1-stay)*inside(b, e) }, guess)
		if !math.IsInf(e, 1) && e > 0 {
			guess = e
		}
		return logRatio(e, permitted)
	}
	var r ratios
	order := orderOf(len(d.form), 7)
	for k, a := range u.form {
		r.form = append(r.form, log(one.form[k], a, d.form[order[k*len(order)/len(u.form)]]))
	}
	order = orderOf(len(d.wide), 8)
	for k, a := range u.wide {
		b := d.wide[order[k*len(order)/len(u.wide)]]
		r.wide = append(r.wide, log(one.wide[k], lessBias(a, c, u.varMean), lessBias(b, c, d.varMean)))
		r.own = append(r.own, log(one.wide[k], record.Normal{Mean: c, SD: a.SD}, record.Normal{Mean: c, SD: b.SD}))
	}
	return r
}

// seldom is the chance of being sent to the other branch that moves no error: a
// hundred-thousandth of the readings is a thousandth of a standard deviation at most.
const seldom = 1e-5

// span is the part of a need that the knowns of either branch reached.
func (s switched) span(n knownwater.Need) (low, high float64) {
	bottom, top := math.Min(s.plain.rec.Bottom, s.diluted.rec.Bottom), math.Max(s.plain.rec.Top, s.diluted.rec.Top)
	return math.Min(math.Max(n.Low, bottom), top), math.Max(math.Min(n.High, top), bottom)
}
