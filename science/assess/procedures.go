package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
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

// switches are the pairs of strands that a method's sheet joins: undiluted, and diluted above a
// reading.
func switches(strands []strand) (pairs [][2]int) {
	for i, plain := range strands {
		m := plain.method
		if !(m.DilutionOver > 0) || plain.dilution != 1 || m.DilutionFactor == 1 {
			continue
		}
		diluted := slices.IndexFunc(strands, func(s strand) bool {
			return s.method.Name == m.Name && s.matrix == plain.matrix && s.dilution == m.DilutionFactor
		})
		if diluted >= 0 {
			pairs = append(pairs, [2]int{i, diluted})
		}
	}
	return pairs
}

// join judges two branches as one procedure.
func join(plain, diluted *study) []NeedFinding {
	s := switched{plain, diluted, plain.method.DilutionOver, false}
	needs := s.needs()
	for _, st := range []*study{plain, diluted} {
		st.forget()
		st.release()
	}
	return needs
}

// procedures are the methods of a trial as their sheets say; joined are the needs of those whose
// two branches were both tried. Where a question holds a branch back it holds back the procedure.
func procedures(studies []*study, joined map[[2]int][]NeedFinding, f *Findings) []Procedure {
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
	for i, g := range groups {
		m := studies[g[0]].method
		out[i] = Procedure{Method: m.Name, Matrix: studies[g[0]].matrix}
		for p, needs := range joined {
			if !slices.Contains(g, p[0]) {
				continue
			}
			for k := range needs {
				if n := &needs[k]; n.Verdict != NotTried && (f.Methods[p[0]].Needs[k].Verdict == HeldBack || f.Methods[p[1]].Needs[k].Verdict == HeldBack) {
					n.holdBack()
				}
			}
			out[i].Branches = []Branch{{1, 0, num.Number(m.DilutionOver)}, {m.DilutionFactor, m.DilutionOver, num.None}}
			out[i].Needs = needs
		}
		if out[i].Branches == nil {
			one := mostRead(studies, g)
			out[i].Branches = []Branch{{studies[one].dilution, 0, num.None}}
			out[i].Needs = append([]NeedFinding{}, f.Methods[one].Needs...)
		}
	}
	return out
}

// mostRead is the undiluted one of a method's branches, or the one with the most readings.
func mostRead(studies []*study, all []int) int {
	most := all[0]
	for _, j := range all {
		if studies[j].dilution == 1 {
			return j
		}
		if studies[j].n > studies[most].n {
			most = j
		}
	}
	return most
}

// switched is a procedure of two branches: over is the undiluted reading above
// which the sample is diluted.
type switched struct {
	plain, diluted *study
	over           float64
	briefly        bool // verdicts alone are asked for
}

// needs judges the procedure for each need, as a whole and by each lot that both
// branches were tried with.
func (s switched) needs() []NeedFinding {
	out := []NeedFinding{}
	names := slices.DeleteFunc(s.plain.lotNames(), func(n string) bool { return !slices.Contains(s.diluted.lotNames(), n) })
	for _, n := range s.plain.needs {
		f := s.judge(n)
		f.WithinLimits = withinLimits(s.plain.method, n, s.over)
		f.ByLot = []LotVerdict{}
		f.Averages = s.averages(n)
		if len(names) == 1 {
			f.ByLot = append(f.ByLot, LotVerdict{names[0], f.Verdict})
		}
		if len(names) > 1 {
			untried := f.Verdict
			f.UntriedLot = &untried
			for _, name := range names {
				v := switched{s.plain.lotNamed(name), s.diluted.lotNamed(name), s.over, true}.judge(n).Verdict
				f.ByLot = append(f.ByLot, LotVerdict{name, v})
				if sayLess(v, f.Verdict) {
					f.Verdict = v
					f.because(note.New("lot-holds-back").Name("lot", name).Name("verdict", v))
				}
			}
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
	if s.plain.opt.Few || s.briefly {
		f.onlyVerdicts(spots, s.rule(), func(c float64, corrected bool) glimpse {
			g := s.glimpse(c, n.PermittedAt(c), corrected)
			g.above = s.ruleAt(c).above
			return g
		})
	} else {
		var places []place
		for _, c := range spots {
			places = append(places, placeOf(c, n.PermittedAt(c), s.errorsAt(c)))
		}
		f.judge(places, s.rule())
	}
	if gap, open := s.uncovered(n); open {
		f.Raw.Verdict, f.Corrected.Verdict = unlessNotFit(f.Raw.Verdict), unlessNotFit(f.Corrected.Verdict)
		f.because(gap)
	}
	f.Verdict = together(f.Raw, f.Corrected)
	if f.Verdict == Undecided && len(f.Why) == 0 && s.plain.promises() && !s.briefly {
		s.moreTests(&f, n, spots)
	}
	return f
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

// errorsAt are the draws of log(error_95) at c, as read and corrected, the same for every need.
// The draws of the branches are put in orders of their own, since their fits are independent.
func (s switched) errorsAt(c float64) [2]ratios {
	if e, ok := s.plain.switched[c]; ok {
		return e
	}
	var e [2]ratios
	switch stay, leave := s.branches(c); {
	case stay:
		e = s.plain.errorsAt(c)
	case leave:
		e = s.diluted.errorsAt(c)
		for i := range e {
			e[i] = e[i].inOrder(len(s.plain.behaviourAt(c).wide))
		}
	default:
		for i, corrected := range []bool{false, true} {
			e[i] = s.glimpse(c, 1, corrected).whole(s.rule())
		}
	}
	if s.plain.switched == nil {
		s.plain.switched = map[float64][2]ratios{}
	}
	s.plain.switched[c] = e
	return e
}

// seldom is the chance of being sent to the other branch that moves no error: a
// hundred-thousandth of the readings is a thousandth of a standard deviation at most.
const seldom = 1e-5

// rule is how "not fit" is told of both branches together: as carefully as of the one that was read
// the fewer times.
func (s switched) rule() rule { return s.plain.rule(0).with(s.diluted.rule(0)) }

// ruleAt is that of the branch that all samples of c are read by, where one is.
func (s switched) ruleAt(c float64) rule {
	switch stay, leave := s.branches(c); {
	case stay:
		return s.plain.rule(0)
	case leave:
		return s.diluted.rule(0)
	}
	return s.rule()
}

// branches says whether all samples of c stay undiluted, or all are diluted, whatever the draw.
func (s switched) branches(c float64) (stay, leave bool) {
	stay, leave = true, true
	b, leaves := s.plain.behaviourAt(c), s.leaves()
	for _, list := range [][]record.Normal{b.wide, b.form} {
		for _, d := range list {
			left := leaves(d)
			if stay, leave = stay && left < seldom, leave && left > 1-seldom; !stay && !leave {
				return false, false
			}
		}
	}
	return stay, leave
}

// inOrder puts draws of the diluted branch in the order in which they go with n of the undiluted.
func (r ratios) inOrder(n int) ratios {
	r.wide, r.own = r.wide.inOrder(n), r.own.inOrder(n)
	return r
}

func (s sample) inOrder(n int) sample {
	if s.n == 0 {
		return s
	}
	order := orderOf(s.n, widesOrder)
	out := sample{n: n, centre: s.centre, unit: s.unit, steps: s.steps}
	if s.steps.of != nil {
		out.steps.of = make([]uint16, n)
		for k := range n {
			out.steps.of[k] = s.steps.of[order[k*s.n/n]]
		}
	}
	drop := make([]float64, s.n)
	for i, k := range s.low {
		drop[k] = s.drops[i]
	}
	for k := range n {
		if d := drop[order[k*s.n/n]]; d != 0 {
			out.low, out.drops = append(out.low, int32(k)), append(out.drops, d)
		}
	}
	return out
}

// The orders of the diluted branch's draws.
const formsOrder, widesOrder = 7, 8

func (s switched) glimpse(c, permitted float64, corrected bool) glimpse {
	up, ud := s.plain.drawsAt(c), s.diluted.drawsAt(c)
	u, uTold := s.plain.errorAt(c, corrected)
	d, dTold := s.diluted.errorAt(c, corrected)
	turns, told := s.turnsAt(c, corrected)
	error95, errorTold := s.mixedAt(c, turns, u, d), s.mixedAt(c, told, uTold, dTold)
	forms, wides := orderOf(ud.forms, formsOrder), orderOf(ud.wides, widesOrder)
	wide := func(k int) (a, b record.Normal) {
		return up.wide(k), ud.wide(wides[k*len(wides)/up.wides])
	}
	return glimpse{forms: up.forms, wides: up.wides,
		form: func(k int) float64 { return error95(up.form(k), ud.form(forms[k*len(forms)/up.forms])) / permitted },
		wide: func(k int) float64 {
			a, b := wide(k)
			return errorTold(uTold.least(a, up.varMean()), dTold.least(b, ud.varMean())) / permitted
		},
		own: func(k int) float64 {
			a, b := wide(k)
			a.Mean, b.Mean = uTold.centre, dTold.centre
			return errorTold(a, b) / permitted
		}}
}

// turnsAt are what results of the branches are turned round by at c, and by what "not fit" is told
// (study.turnsAt); nil: as read.
func (s switched) turnsAt(c float64, corrected bool) (turns, told *[2]turn) {
	if !corrected {
		return nil, nil
	}
	turns, told = new([2]turn), new([2]turn)
	turns[0], told[0] = s.plain.turnsAt(c)
	turns[1], told[1] = s.diluted.turnsAt(c)
	return turns, told
}
