package assess

import (
	"slices"

	"knownwater"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/science/num"
)

// asked is a question, and by branch the verdicts if it is right; nil: not judged again.
type asked struct {
	doubt.Question
	others map[branchOf][]string
}

// ask puts the doubts about the readings, and finds which of them could
// overturn a verdict: those under whose trial, put right as the doubt has it,
// some verdict of the method is another one. Such verdicts are held back.
func ask(qs []asked, t knownwater.Trial, studies []*study, f *Findings, o Options) {
	for i := range f.Methods { // the studies keep what was said before
		f.Methods[i].Needs = slices.Clone(f.Methods[i].Needs)
	}
	for i := range qs {
		hold(&qs[i], t, studies, f, o)
	}
	for _, q := range qs {
		f.Questions = append(f.Questions, q.Question)
	}
}

// doubts are all questions about a trial; seen are those that a look at each method asks.
func doubts(t knownwater.Trial, strands []strand, studies []*study, seen [][]asked) []asked {
	found := append(askShares(studies), oddLevels(studies)...)
	for i := range found {
		found[i].Keyed()
	}
	return slices.Concat(unjudged(doubt.AskOrder(t)), unjudged(doubt.AskWater(t, readingsOf(strands))), slices.Concat(seen...), unjudged(found))
}

func unjudged(qs []doubt.Question) []asked {
	out := make([]asked, len(qs))
	for i, q := range qs {
		out[i].Question = q
	}
	return out
}

// HeldBack is the verdict that waits for the answer to a question.
const HeldBack = "held back"

// branchOf is a method at one dilution in one water.
type branchOf struct {
	method, matrix string
	dilution       float64
}

// judge finds what verdicts would be as the doubt has it; of a sharing, which is in the posterior
// already, none.
func (q *asked) judge(t knownwater.Trial, o Options) {
	if q.others != nil || len(q.Mends) == 0 || q.Kind == doubt.OfShare || len(t.Needs) == 0 {
		return
	}
	q.others = map[branchOf][]string{}
	for _, s := range split(q.Mends[0](t)) {
		if q.Method != "" && (s.method.Name != q.Method || s.matrix != q.Matrix) {
			continue
		}
		var verdicts []string
		for _, n := range again(s, t, o).finding.Needs {
			verdicts = append(verdicts, n.Verdict)
		}
		q.others[branchOf{s.method.Name, s.matrix, s.dilution}] = verdicts
	}
}

// hold holds back the verdicts that would be others as the doubt has it.
func hold(q *asked, t knownwater.Trial, studies []*study, f *Findings, o Options) {
	if o.Stop != nil && o.Stop() {
		return
	}
	if q.judge(t, o); q.others == nil {
		return
	}
	for i, st := range studies {
		if q.Method != "" && (st.method.Name != q.Method || st.matrix != q.Matrix) {
			continue
		}
		there := q.others[branchOf{st.method.Name, st.matrix, st.dilution}]
		for j := range f.Methods[i].Needs {
			n := &f.Methods[i].Needs[j]
			was := st.finding.Needs[j].Verdict
			if was == NotTried || there != nil && there[j] == was {
				continue
			}
			n.holdBack()
			q.HoldsBack = true
		}
	}
}

// holdBack says nothing till a question is answered: not of single results, nor
// of lots and averages, nor of what would settle a verdict that may be another one.
func (n *NeedFinding) holdBack() {
	n.Verdict, n.Why = HeldBack, []note.Note{note.New("question-first")}
	n.MoreTests, n.Help = num.None, nil
	n.ByLot, n.Averages = slices.Clone(n.ByLot), slices.Clone(n.Averages)
	for i := range n.ByLot {
		n.ByLot[i].Verdict = HeldBack
	}
	for i := range n.Averages {
		n.Averages[i].Verdict = HeldBack
	}
	if n.UntriedLot != nil {
		held := HeldBack
		n.UntriedLot = &held
	}
}

// again judges a strand's needs, verdicts alone, and nothing else.
func again(s strand, t knownwater.Trial, o Options) *study {
	st := &study{strand: s, design: newDesign(s, o), opt: o, briefly: true, needs: t.Needs, scale: t.Scale}
	st.start()
	st.fit()
	st.respond()
	st.needFindings()
	st.lotFindings()
	return st
}
