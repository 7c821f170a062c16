package assess

import (
	"cmp"
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
	defer plain.forget()
	defer diluted.forget()
	return s.needs()
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
			return errorTold(lessBias(a, uTold.centre, up.varMean()), lessBias(b, dTold.centre, ud.varMean())) / permitted
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

// leaves is the chance that a sample is diluted, by how its undiluted readings are distributed:
// that of an answer above the switch.
func (s switched) leaves() func(record.Normal) float64 {
	edges := make([]float64, max(1, len(s.plain.shares)))
	for i := range edges {
		edges[i] = s.over + s.plain.rec.Shown.Step/2
		if s.plain.inSteps() {
			edges[i] = math.Inf(-1)
			for k, a := range s.plain.answersAs(i) {
				if a.Seen.Low < a.Seen.High && s.stays(s.plain.rec.Shown.Answers[k]) {
					edges[i] = math.Max(edges[i], a.Seen.High)
				}
			}
		}
	}
	return func(d record.Normal) float64 { return num.QuickPhi((d.Mean - edges[d.Sharing]) / d.SD) }
}

// stays says whether a sample is not diluted after an answer.
func (s switched) stays(a record.Answer) bool {
	return a.Value <= s.over*(1+1e-9) && !a.Seen.OpenAbove()
}

// mixedAt is the E that 95 % of results at c keep within when readings a of the undiluted branch
// that stay there are joined by readings b of the diluted one for those that do not; u and d
// are the errors of each branch alone.
func (s switched) mixedAt(c float64, turns *[2]turn, u, d errorAt) func(a, b record.Normal) float64 {
	leaves, mixed := s.leaves(), s.mixedNumbers(c, turns)
	if s.plain.inSteps() {
		mixed = s.mixedSteps(c, turns)
	}
	return func(a, b record.Normal) float64 {
		switch left := leaves(a); {
		case left < seldom:
			return u.of(a)
		case left > 1-seldom:
			return d.of(b)
		default:
			return mixed(a, b, left)
		}
	}
}

// mixedNumbers is that of numbers: results as read may lie below nothing, corrected ones do not.
func (s switched) mixedNumbers(c float64, turned *[2]turn) func(a, b record.Normal, left float64) float64 {
	edge, jump := s.over+s.plain.rec.Shown.Step/2, 0.0
	turns := [2]turn{asRead, asRead}
	if turned != nil {
		jump, turns = c, *turned
	}
	rounding := [2]float64{s.plain.rec.Shown.Step / math.Sqrt(12), s.diluted.rec.Shown.Step / math.Sqrt(12)}
	var at [2][2]int // the pieces of the responses in which the ends were last
	guess := 0.0
	return func(a, b record.Normal, _ float64) float64 {
		branches := [2]record.Normal{a, b}
		for i := range branches {
			branches[i].SD = math.Hypot(branches[i].SD, rounding[i])
		}
		left := num.QuickPhi((branches[0].Mean - edge) / branches[0].SD) // as the rounded ones do, so that all is 1
		e := solve95(func(e float64) (p, slope float64) {
			for i, n := range branches {
				weight, most := 1.0, edge
				if i == 1 {
					weight, most = left, math.Inf(1)
				}
				below := func(v float64, side int) {
					y, s := turns[i].from(&at[i][side], v)
					if y > most {
						y, s = most, 0
					}
					q, d := num.QuickPhiSlope((y - n.Mean) / n.SD)
					p, slope = p+weight*q, slope+math.Abs(weight)*d*s/n.SD
					weight = -weight
				}
				below(c+e, 0)
				if turned == nil || c-e > 0 {
					below(c-e, 1)
				}
			}
			return p, slope
		}, cmp.Or(guess, 2*branches[0].SD), jump)
		if !math.IsInf(e, 1) && e > 0 {
			guess = e
		}
		return e
	}
}

// asRead turns nothing round.
var asRead = turn{[]float64{0, 1}, []float64{0, 1}}

// mixedSteps is that of answers in steps, each branch by the sharing of its draw.
func (s switched) mixedSteps(c float64, turned *[2]turn) func(a, b record.Normal, left float64) float64 {
	side := func(i int, st *study, stays func(record.Answer) bool) func(sharing int) *nested {
		miss := func(a record.Answer) float64 { return math.Abs(a.Value - c) }
		if turned != nil {
			t := turned[i]
			miss = func(a record.Answer) float64 { return math.Abs(t.value(a) - c) }
		}
		order, all := byMiss(st.rec.Shown.Answers, miss)
		order = slices.DeleteFunc(order, func(i int) bool { return !stays(st.rec.Shown.Answers[i]) })
		return func(sharing int) *nested { return nest(st.answersAs(sharing), all, order) }
	}
	plain, diluted := side(0, s.plain, s.stays), side(1, s.diluted, func(record.Answer) bool { return true })
	lists := map[[2]int]*both{}
	return func(a, b record.Normal, left float64) float64 {
		key := [2]int{a.Sharing, b.Sharing}
		list := lists[key]
		if list == nil {
			list = bothOf(plain(a.Sharing), diluted(b.Sharing))
			lists[key] = list
		}
		return list.within(a, b, left)
	}
}

// both are the answers of two branches by how far off they are.
type both struct {
	plain, diluted *nested
	miss           []float64
	last           int
}

func bothOf(plain, diluted *nested) *both {
	return &both{plain: plain, diluted: diluted, miss: slices.Compact(slices.Sorted(slices.Values(slices.Concat(plain.miss, diluted.miss))))}
}

// within is the smallest error that 95 % of results keep within.
func (l *both) within(a, b record.Normal, left float64) float64 {
	return leastError(l.miss, &l.last, func(k int) bool {
		return l.plain.upTo(l.miss[k], a)+left*l.diluted.upTo(l.miss[k], b) >= within
	})
}
