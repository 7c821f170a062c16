package assess

import (
	"slices"

	"knownwater"
	"knownwater/science/num"
)

// OpenNeed is a need that a trial leaves undecided of a method as it is used, to be looked
// at ahead: which further vials would settle it.
type OpenNeed struct {
	Method, Matrix string
	Need           knownwater.Need
	Places         []OpenPlace // where a vial could be added
	WorstAt        num.Number  // where the error is worst against what is permitted

	promise promise
	branch  []int // of each place: its foresight
}

// OpenPlace is one known of a branch.
type OpenPlace struct {
	Dilution, Level float64
	Tests           int // that were made there
}

// OpenNeeds are the undecided needs of a trial that are asked for, each of its procedures'
// branches fitted again; what was found says which they are. Where a lot alone holds a
// verdict back, a known is missing or nothing was read twice, more vials of the same do not
// help, and the need is left out.
func OpenNeeds(t knownwater.Trial, found Findings, asked func(method, matrix, need string) bool, o Options) (out []*OpenNeed) {
	t, _ = settle(t)
	o.Brief = true
	strands := split(t)
	needs := t.Needs
	for _, p := range found.Procedures {
		for _, f := range p.Needs {
			i := slices.IndexFunc(needs, func(n knownwater.Need) bool { return n.Name == f.Need })
			if f.Verdict != Undecided || i < 0 || !asked(p.Method, p.Matrix, f.Need) {
				continue
			}
			if o.Stop != nil && o.Stop() {
				return out
			}
			t.Needs = needs[i : i+1]
			if n := openNeed(p, t, strands, o); n != nil {
				out = append(out, n)
			}
		}
	}
	return out
}

// openNeed prepares one of them.
func openNeed(p Procedure, t knownwater.Trial, strands []strand, o Options) *OpenNeed {
	var studies []*study
	for _, b := range p.Branches {
		for _, s := range strands {
			if s.method.Name == p.Method && s.matrix == p.Matrix && s.dilution == b.Dilution {
				studies = append(studies, examine(s, t, o))
			}
		}
	}
	if len(studies) != len(p.Branches) {
		return nil
	}
	for _, st := range studies {
		if st.post == nil || st.rec == nil {
			return nil
		}
	}
	out := &OpenNeed{Method: p.Method, Matrix: p.Matrix, Need: t.Needs[0]}
	if !out.prepare(studies) {
		return nil
	}
	for b, st := range studies {
		st.forget()
		for i, l := range st.levels {
			out.Places = append(out.Places, OpenPlace{st.dilution, l.value, st.groups[st.groupAt(i)].n})
			out.branch = append(out.branch, b)
		}
	}
	return out
}

// prepare makes what is looked ahead with; false where more vials of the same cannot settle it.
func (n *OpenNeed) prepare(studies []*study) bool {
	var f NeedFinding
	var spots []float64
	first := studies[0]
	at := func(now []*study, c float64, corrected bool) glimpse { return now[0].glimpse(n.Need, c, corrected) }
	if len(studies) == 1 {
		f = first.judge(n.Need)
		low, high := first.span(n.Need)
		spots = first.spots(low, high)
		if _, open := first.uncovered(n.Need); open {
			return false
		}
	} else {
		s := switched{studies[0], studies[1], n.over(studies), false}
		f = s.judge(n.Need)
		low, high := s.span(n.Need)
		spots = s.spots(low, high)
		if _, open := s.uncovered(n.Need); open {
			return false
		}
		at = func(now []*study, c float64, corrected bool) glimpse {
			return switched{now[0], now[1], s.over, true}.glimpse(c, n.Need.PermittedAt(c), corrected)
		}
	}
	worst := f.Raw
	if f.Raw.Verdict == NotFit {
		worst = f.Corrected
	}
	if f.Verdict != Undecided || !worst.Error95.OK() {
		return false
	}
	n.WorstAt = worst.WorstAt
	spots = thinned(spots, &f, first.inSteps())
	n.promise = promise{spots: spots, bad: worstFirst(spots, &f), glimpse: at}
	for _, st := range studies {
		n.promise.levels += len(st.levels)
		n.promise.of = append(n.promise.of, st.foresee(spots, openTruths))
	}
	return true
}

func (n *OpenNeed) over(studies []*study) float64 { return studies[0].method.DilutionOver }

// openTruths is how many equally likely truths of the posterior are looked at.
const openTruths = 128

// Settles is in which share of equally likely truths so many further tests at each of the
// places would settle the need: the truths are draws of the posterior that favours a form,
// what they would be read as moves all others (foresight), and the need is judged by the rules
// that will judge it, with the readings that there will be then. Every truths-th of openTruths is looked at; the same numbers give the same
// answer.
func (n *OpenNeed) Settles(tests []int, truths int) float64 {
	for b, f := range n.promise.of {
		f.only = nil
		for i, at := range n.branch {
			if at == b {
				f.only = append(f.only, tests[i])
			}
		}
	}
	all := n.promise.of[0].truths
	step := max(1, len(all)/truths)
	t := n.promise.tally()
	for i := step / 2; i < len(all); i += step {
		t.add(n.promise.outcome(all[i], further{knowns: 1}))
	}
	return float64(t.settled()) / float64(t.of)
}
