package assess

import (
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

// mostQuestions bounds what is asked about one method.
const mostQuestions = 12

// ask puts the doubts about the readings, and finds which of them could
// overturn a verdict: those under whose trial, put right as the doubt has it,
// some verdict of the method is another one. Such verdicts are held back.
func ask(qs []Question, t knownwater.Trial, studies []*study, f *Findings, o Options) {
	for i := range f.Methods { // the studies keep what was said before
		f.Methods[i].Needs = slices.Clone(f.Methods[i].Needs)
	}
	for i := range qs {
		hold(&qs[i], t, studies, f, o)
	}
	f.Questions = qs
}

// doubts are all questions about a trial; seen are those that a look at each method asks.
func doubts(t knownwater.Trial, strands []strand, studies []*study, seen [][]Question) []Question {
	qs := slices.Concat(askWater(t, strands), slices.Concat(seen...))
	qs = append(qs, askShares(studies)...)
	qs = append(qs, oddLevels(studies)...)
	for i := range qs {
		qs[i].keyed()
	}
	return qs
}

// ask puts the doubts about one method. Readings that a swap explains are not
// asked about again as slips, nor those that a factor explains.
func (s *sight) ask(denied func(Question) bool) []Question {
	s.look()
	var qs []Question
	if q, ok := s.askAll(); ok {
		q.keyed()
		if qs = append(qs, q); !denied(q) {
			return qs // till that is settled nothing else can be seen
		}
	}
	qs = append(qs, s.askTwice()...)
	qs = append(qs, s.askRange()...)
	qs = append(qs, s.askSwaps()...)
	qs = append(qs, s.askRows()...)
	qs = append(qs, s.askSlips()...)
	for i := range qs {
		qs[i].keyed()
	}
	return qs[:min(len(qs), mostQuestions)]
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
func (q *Question) judge(t knownwater.Trial, o Options) {
	if q.others != nil || len(q.mends) == 0 || q.Kind == QuestionShare || len(t.Needs) == 0 {
		return
	}
	q.others = map[branchOf][]string{}
	for _, s := range split(q.mends[0](t)) {
		if q.Method != "" && (s.method.Name != q.Method || s.matrix != q.matrix) {
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
func hold(q *Question, t knownwater.Trial, studies []*study, f *Findings, o Options) {
	if o.Stop != nil && o.Stop() {
		return
	}
	if q.judge(t, o); q.others == nil {
		return
	}
	for i, st := range studies {
		if q.Method != "" && (st.method.Name != q.Method || st.matrix != q.matrix) {
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

// askWater asks about the water of the knowns: pure water for a use in salt
// water, and salinity and temperature that nobody stated. The latter holds
// nothing back: between a litre and a kilogram it is a matter of 2 %, and what
// it does to a method no computation tells.
func askWater(t knownwater.Trial, strands []strand) []Question {
	var qs []Question
	for _, s := range strands {
		salty := slices.ContainsFunc(strands, func(o strand) bool {
			return o.method.Name == s.method.Name && o.matrix != "" && !pureWater(o.matrix)
		})
		asked := slices.ContainsFunc(qs, func(q Question) bool { return q.Method == s.method.Name && q.matrix == s.matrix })
		if !pureWater(s.matrix) || salty || asked || t.WaterStated && t.Water.Salinity == 0 {
			continue
		}
		qs = append(qs, Question{Kind: QuestionWater, Method: s.method.Name, At: placesOf(s.obs),
			Says: note.New("ask-pure-water").Name("matrix", s.matrix), matrix: s.matrix})
	}
	if !t.WaterStated {
		qs = append(qs, Question{Kind: QuestionWater, At: []Place{},
			Says: note.New("ask-water").Number("salinity", t.Water.Salinity).Number("temperature", t.Water.Temperature)})
	}
	return qs
}

// pureWater says whether a matrix is water without salt, by its name.
func pureWater(matrix string) bool {
	m := strings.ToLower(matrix)
	if strings.Contains(m, "salt") || strings.Contains(m, "sea") || strings.Contains(m, "tank") {
		return false
	}
	for _, w := range []string{"pure", "distilled", "deioni", "demineral", "fresh", "osmosis"} {
		if strings.Contains(m, w) {
			return true
		}
	}
	return slices.ContainsFunc(strings.FieldsFunc(m, func(r rune) bool { return !(r >= 'a' && r <= 'z') }),
		func(word string) bool { return word == "ro" || word == "rodi" || word == "di" })
}
