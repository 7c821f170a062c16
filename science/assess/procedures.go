package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// Procedure is a method as its sheet says it is used: undiluted up to a reading,
// diluted above; one branch where nothing dilutes.
type Procedure struct {
	Method   string        `json:"method"`
	Matrix   string        `json:"matrix,omitempty"`
	Branches []Branch      `json:"branches"`
	Needs    []NeedFinding `json:"needs"`
}

// Branch is one dilution of a procedure, and the readings of undiluted water
// that lead to it; To is null where nothing ends it.
type Branch struct {
	Dilution float64    `json:"dilution"`
	From     float64    `json:"from"`
	To       num.Number `json:"to"`
}

// procedures judges every method of a trial as its sheet says.
func procedures(studies []*study, f *Findings, o Options) []Procedure {
	var groups [][]int
	for i, st := range studies {
		at := slices.IndexFunc(groups, func(g []int) bool {
			return studies[g[0]].method.Name == st.method.Name && studies[g[0]].matrix == st.matrix
		})
		if at < 0 {
			at, groups = len(groups), append(groups, nil)
		}
		groups[at] = append(groups[at], i)
	}
	out := make([]Procedure, len(groups))
	o.Progress = nil
	each(len(groups), o, func(i int) { out[i] = procedureOf(studies, groups[i], f) })
	return out
}

// procedureOf picks the branches among the dilutions that were tried: the sheet's
// where both were, else the one with the most readings.
func procedureOf(studies []*study, all []int, f *Findings) Procedure {
	m := studies[all[0]].method
	with := func(dilution float64) int {
		return slices.IndexFunc(all, func(j int) bool { return studies[j].dilution == dilution })
	}
	p := Procedure{Method: m.Name, Matrix: studies[all[0]].matrix, Needs: []NeedFinding{}}
	if plain, diluted := with(1), with(m.DilutionFactor); m.DilutionOver > 0 && plain >= 0 && diluted >= 0 && plain != diluted {
		u, d := all[plain], all[diluted]
		p.Branches = []Branch{{1, 0, num.Number(m.DilutionOver)}, {m.DilutionFactor, m.DilutionOver, num.None}}
		p.Needs = switched{studies[u], studies[d], m.DilutionOver}.needs(f.Methods[u].Needs, f.Methods[d].Needs)
		return p
	}
	most := all[0]
	for _, j := range all {
		if studies[j].n > studies[most].n {
			most = j
		}
	}
	if j := with(1); j >= 0 {
		most = all[j]
	}
	p.Branches = []Branch{{studies[most].dilution, 0, num.None}}
	p.Needs = append(p.Needs, f.Methods[most].Needs...)
	return p
}

// switched is a procedure of two branches: over is the undiluted reading above
// which the sample is diluted.
type switched struct {
	plain, diluted *study
	over           float64
}

// needs judges the procedure for each need, as a whole and by each lot that both
// branches were tried with. plain and diluted are what the branches found by
// themselves: where a question holds one of them back it holds back the procedure.
func (s switched) needs(plain, diluted []NeedFinding) []NeedFinding {
	out := []NeedFinding{}
	names := slices.DeleteFunc(s.plain.lotNames(), func(n string) bool { return !slices.Contains(s.diluted.lotNames(), n) })
	for i, n := range s.plain.needs {
		f := s.judge(n)
		f.WithinLimits = withinLimits(s.plain.method, n, 1)
		f.ByLot = []LotVerdict{}
		f.Averages = s.averages(n)
		if len(names) == 1 {
			f.ByLot = append(f.ByLot, LotVerdict{names[0], f.Verdict})
		}
		if len(names) > 1 {
			untried := f.Verdict
			f.UntriedLot = &untried
			for _, name := range names {
				v := switched{s.plain.lotNamed(name), s.diluted.lotNamed(name), s.over}.judge(n).Verdict
				f.ByLot = append(f.ByLot, LotVerdict{name, v})
				if sayLess(v, f.Verdict) {
					f.Verdict = v
					f.because(note.New("lot-holds-back").Name("lot", name).Name("verdict", v))
				}
			}
		}
		if f.Verdict != NotTried && (plain[i].Verdict == HeldBack || diluted[i].Verdict == HeldBack) {
			f.holdBack()
		}
		out = append(out, f)
	}
	return out
}

// lotNamed is the study of one lot's readings.
func (st *study) lotNamed(name string) *study {
	if i := slices.Index(st.lotNames(), name); i < len(st.byLot) {
		return st.byLot[i]
	}
	return st
}

// judge gives the verdict through the switch at every true concentration: the
// chance of being sent to a branch depends on the undiluted reading,
//
//	P(|result − c| ≤ E) = P(reading ≤ over, |it − c| ≤ E) + P(reading > over)·P(|diluted − c| ≤ E).
func (s switched) judge(n knownwater.Need) NeedFinding {
	none := ErrorWithin{Undecided, num.None, num.None, num.None, num.None, num.None}
	f := NeedFinding{Need: n.Name, Verdict: Undecided, Raw: none, Corrected: none, MoreTests: num.None, Why: []note.Note{}, Along: []AlongNeed{}}
	if !tried(s.plain.levels, n) && !tried(s.diluted.levels, n) {
		f.Verdict = NotTried
		f.because(note.New("not-tested-between").Number("low", n.Low).Number("high", n.High))
		return f
	}
	if s.plain.rec == nil || s.diluted.rec == nil {
		f.because(note.New("no-response"))
		return f
	}
	if s.plain.post == nil || s.diluted.post == nil {
		f.because(note.New("judged-on-single-readings"))
		return f
	}
	low, high := s.span(n)
	spots := s.spots(low, high)
	if s.plain.opt.Few {
		f.onlyVerdicts(spots, s.plain.rule(0), func(c float64, corrected bool) glimpse { return s.glimpse(c, n.PermittedAt(c), corrected) })
	} else {
		var places []place
		for _, c := range spots {
			places = append(places, s.place(n, c))
		}
		f.judge(places, s.plain.rule(0))
	}
	if gap, open := s.uncovered(n); open {
		f.Raw.Verdict, f.Corrected.Verdict = unlessNotFit(f.Raw.Verdict), unlessNotFit(f.Corrected.Verdict)
		f.because(gap)
	}
	f.Verdict = together(f.Raw, f.Corrected)
	if f.Verdict == Undecided && len(f.Why) == 0 && s.plain.promises() {
		s.moreTests(&f, n, spots)
	}
	return f
}

func (s switched) place(n knownwater.Need, c float64) place {
	p := n.PermittedAt(c)
	return place{c, p, s.ratios(c, p, false), s.ratios(c, p, true)}
}

// uncovered is the end of the need that neither branch's knowns reached.
func (s switched) uncovered(n knownwater.Need) (note.Note, bool) {
	slack := 0.02 * (n.High - n.Low)
	b1, t1 := reach(s.plain.levels, s.plain.rec.Bottom)
	b2, t2 := reach(s.diluted.levels, s.diluted.rec.Bottom)
	switch {
	case n.Low < math.Min(b1, b2)-slack:
		return note.New("not-tested-below").Number("level", math.Min(s.plain.rec.Bottom, s.diluted.rec.Bottom)), true
	case n.High > math.Max(t1, t2)+slack:
		return note.New("not-tested-above").Number("level", math.Max(s.plain.rec.Top, s.diluted.rec.Top)), true
	}
	return note.Note{}, false
}

// spots are those of both branches, and the switch itself.
func (s switched) spots(low, high float64) []float64 {
	at := append(s.plain.spots(low, high), s.diluted.spots(low, high)...)
	if s.over > low && s.over < high {
		at = append(at, s.over)
	}
	sort.Float64s(at)
	return slices.CompactFunc(at, func(a, b float64) bool { return math.Abs(b-a) <= 1e-9*high })
}

// ratios are the draws of log(error_95/permitted) at c. The draws of the branches
// are put in orders of their own, since their fits are independent.
func (s switched) ratios(c, permitted float64, corrected bool) ratios {
	return s.glimpse(c, permitted, corrected).whole()
}

func (s switched) glimpse(c, permitted float64, corrected bool) glimpse {
	up, ud := s.plain.behaviourAt(c).fewer(), s.diluted.behaviourAt(c).fewer()
	u, d := s.plain.branchAt(c, s.over, corrected), s.diluted.branchAt(c, math.Inf(1), corrected)
	u = ordered(u, d)
	log := func(e float64) float64 { return logRatio(e, permitted) }
	guess := math.Max(permitted, 1e-12)
	error95 := func(a, b record.Normal) float64 {
		e := mixed95(u, d, a, b, c, guess)
		if !math.IsInf(e, 1) && e > 0 {
			guess = e
		}
		return e
	}
	forms, wides := orderOf(len(ud.form), 7), orderOf(len(ud.wide), 8)
	wide := func(k int) (a, b record.Normal) {
		return up.wide[k], ud.wide[wides[k*len(wides)/len(up.wide)]]
	}
	return glimpse{len(up.form), len(up.wide),
		func(k int) float64 { return log(error95(up.form[k], ud.form[forms[k*len(forms)/len(up.form)]])) },
		func(k int) float64 {
			a, b := wide(k)
			return log(error95(lessBias(a, u.centre, up.varMean), lessBias(b, d.centre, ud.varMean)))
		},
		func(k int) float64 {
			a, b := wide(k)
			return log(error95(record.Normal{Mean: u.centre, SD: a.SD}, record.Normal{Mean: d.centre, SD: b.SD}))
		}}
}

// branchSide is a branch at one concentration: how far off each of its readings
// is, and which of them stay in it.
type branchSide struct {
	centre  float64
	answers []answerMiss // steps
	order   []int        // see ordered
	edge    float64      // displays: latent readings up to here stay
	step    float64
	at      func(v float64) float64 // reading that stands for a result v
}

type answerMiss struct {
	low, high, miss float64
	stays           bool
}

// branchAt describes a branch at c; over is the reading above which it is left.
func (st *study) branchAt(c, over float64, corrected bool) branchSide {
	b := branchSide{centre: c, edge: math.Inf(1), step: st.rec.Shown.Step, at: func(v float64) float64 { return v }}
	var t turn
	if corrected {
		t = st.turnAt(c)
		b.centre, b.at = t.at(c), t.at
	}
	if !math.IsInf(over, 1) {
		b.edge = over + b.step/2
	}
	for _, a := range st.rec.Shown.Answers {
		m := answerMiss{a.Seen.Low, a.Seen.High, math.Abs(a.Value - c), a.Value <= over*(1+1e-9) && !a.Seen.OpenAbove()}
		if math.IsInf(over, 1) {
			m.stays = true
		}
		if corrected {
			m.miss = math.Abs(t.value(a) - c)
		}
		b.answers = append(b.answers, m)
	}
	return b
}

// mixed95 is the E that 95 % of results keep within when readings a of branch u
// that stay there are joined by readings b of branch d for those that do not.
func mixed95(u, d branchSide, a, b record.Normal, c, guess float64) float64 {
	if u.answers != nil {
		return mixedSteps(u, d, a, b)
	}
	a.SD, b.SD = math.Hypot(a.SD, u.step/math.Sqrt(12)), math.Hypot(b.SD, d.step/math.Sqrt(12))
	below := func(n record.Normal, y float64) float64 { return posterior.Phi((y - n.Mean) / n.SD) }
	stay := below(a, u.edge)
	return solve95(func(e float64) float64 {
		p := below(a, math.Min(u.edge, u.at(c+e)))
		q := below(b, d.at(c+e))
		if c-e > 0 || u.centre == c { // results as read may lie below nothing, corrected ones do not
			p -= below(a, math.Min(u.edge, u.at(c-e)))
			q -= below(b, d.at(c-e))
		}
		return p + (1-stay)*q
	}, guess)
}

// mixedSteps goes through the answers of both branches together, the nearest
// first; order lists them, those of the undiluted branch before the others.
func mixedSteps(u, d branchSide, a, b record.Normal) float64 {
	var space [64]float64
	p := space[:0]
	left := 0.0
	at, upTo := math.NaN(), 0.0 // neighbours share a border
	between := func(x answerMiss, n record.Normal) float64 {
		below := upTo
		if x.low != at {
			below = posterior.Phi((x.low - n.Mean) / n.SD)
		}
		at, upTo = x.high, posterior.Phi((x.high-n.Mean)/n.SD)
		return upTo - below
	}
	for _, x := range u.answers {
		v := between(x, a)
		if !x.stays {
			left, v = left+v, 0
		}
		p = append(p, v)
	}
	at = math.NaN()
	for _, x := range d.answers {
		p = append(p, left*between(x, b))
	}
	sum := 0.0
	for _, i := range u.order {
		if sum += p[i]; sum >= within {
			if i < len(u.answers) {
				return u.answers[i].miss
			}
			return d.answers[i-len(u.answers)].miss
		}
	}
	return math.Inf(1)
}

// ordered gives the undiluted side the order of the answers of both.
func ordered(u, d branchSide) branchSide {
	miss := func(i int) float64 {
		if i < len(u.answers) {
			return u.answers[i].miss
		}
		return d.answers[i-len(u.answers)].miss
	}
	u.order = make([]int, len(u.answers)+len(d.answers))
	for i := range u.order {
		u.order[i] = i
	}
	sort.SliceStable(u.order, func(i, j int) bool { return miss(u.order[i]) < miss(u.order[j]) })
	return u
}
