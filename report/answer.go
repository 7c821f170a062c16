package report

import (
	"fmt"
	"math"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/unit"
)

// answer is the first screen of a trial, for the page and for a terminal alike:
// what is still asked, what to use for each need, every method as it is used
// against every need, what a number of the chosen one says, what was not tried,
// and what to do next.
type answer struct {
	Head    []string // the verdict, in a sentence or two
	From    string   // what it rests on
	Open    []openView
	Columns []columnView
	Rows    []answerRow
	Many    bool // too many methods to stand side by side
	Says    *saysView
	Untried []pointView
	Next    []pointView
	Reads   []string // which method reads low or high, and where
	Scale   string   // of errors, needs and what numbers say
	As      string   // the scale of readings and knowns, where it is another one
}

// mostSideBySide is how many methods stand side by side on a wide page.
const mostSideBySide = 7

// openView is a question that the readings put to the bench.
type openView struct {
	Method, Question, Evidence string
	Water                      bool // about the water, which is no slip
	Holds                      bool // a verdict waits for its answer
	Asking                     *askingView
	q                          doubt.Question
}

// columnView is a method as it is used.
type columnView struct {
	Name, How, Link string
	Use             bool // it is chosen for some need
}

// answerRow is a need against every method.
type answerRow struct {
	Need, Use, Range, More, Link string
	Cells                        []answerCell
}

// pointView is a point of a short list.
type pointView struct{ Head, Say string }

// newAnswer shows errors, needs and what numbers say by a turn of the trial's scale; what the
// method shows, knowns and questions about them stay as they are.
func newAnswer(l speech, f assess.Findings, t knownwater.Trial, to unit.Turn) answer {
	f = oneWater(f)
	scale := clean(to.To.String())
	all := l.usedOf(f, t)
	a := answer{From: l.restsOn(f, t), Open: l.openOf(f), Scale: scale}
	if !to.Same() {
		a.As = scaleOf(f)
	}
	for _, u := range all {
		a.Columns = append(a.Columns, columnView{Name: u.name, How: u.how, Link: fmt.Sprintf("method-%d", u.no)})
		if s := u.reads(); s != "" {
			a.Reads = append(a.Reads, s)
		}
	}
	a.Many = len(all) > mostSideBySide
	var picks []pick
	for i, name := range needNames(f, t) {
		p := l.pickFor(name, all, t)
		picks = append(picks, p)
		a.Rows = append(a.Rows, newAnswerRow(l, i, p, all, t, to))
		if p.use >= 0 {
			a.Columns[p.use].Use = true
		}
	}
	a.Head = l.headOf(picks, all, len(a.Open))
	a.Says = newSays(l, f, picks, all, t, to)
	a.Untried = l.untriedOf(f, t, to)
	a.Next = l.nextOf(a, picks, all)
	return a
}

func newAnswerRow(l speech, i int, p pick, all []used, t knownwater.Trial, to unit.Turn) answerRow {
	r := answerRow{Need: clean(p.need), Use: p.sentence(all), More: p.more(all), Link: fmt.Sprintf("need-%d", i+1)}
	if n, ok := needOf(t, p.need); ok {
		n = n.Times(to.K)
		r.Range = l.Say("{1} to {2}; permitted {3}", chosenText(n.Low, to), chosenText(n.High, to), l.permittedShort(n))
	}
	for j, u := range all {
		c := answerCell{Method: u.name, Verdict: l.Say("not judged")}
		if n, ok := u.need(p.need); ok {
			n = turnedNeed(n, to)
			c = l.cellOf(n)
			c.Method, c.Use = u.name, j == p.use
			if c.Settle == "" && n.Verdict == assess.Undecided {
				c.Settle = u.settles(p.need)
			}
		}
		c.SVG = figure(chart.Half{ID: fmt.Sprintf("half-%d-%d", i, j), Bars: c.bars, Tried: c.tried}.SVG())
		r.Cells = append(r.Cells, c)
	}
	return r
}

// openOf are the questions that the readings put to the bench, those that hold
// a verdict back first.
func (l speech) openOf(f assess.Findings) []openView {
	var holding, others []openView
	for _, q := range f.Questions {
		v := openView{Method: clean(q.Method), Question: l.sentence(q.Says), Evidence: l.rowWords(q.At, mostRowsFirst), Holds: q.HoldsBack, Water: q.Kind == doubt.OfWater, q: q}
		if v.Holds {
			holding = append(holding, v)
		} else {
			others = append(others, v)
		}
	}
	return append(holding, others...)
}

// mostRowsFirst bounds the rows that a question names on the first screen.
const mostRowsFirst = 4

// restsOn says in a line what the findings rest on.
func (l speech) restsOn(f assess.Findings, t knownwater.Trial) string {
	total, vials, matrix := 0, set{}, set{}
	for _, o := range t.Observations {
		total += max(o.Count, 1)
		vials.add(o.Vial)
		matrix.add(o.Matrix)
	}
	technique := ""
	for _, m := range f.Methods {
		if total == 0 || len(t.Observations) == 0 {
			total += m.N
		}
		technique = clean(m.Technique)
	}
	s := l.things(total, "reading")
	if len(vials) > 0 {
		s = l.Say("{1} of {2}", s, l.things(len(vials), "vial"))
	}
	s += ", " + l.Say("{1} in {2}", l.Say(orNone(clean(f.Analyte))), scaleOf(f))
	low, high, n := knownRange(f)
	switch {
	case n == 1:
		s += "; " + l.Say("one known, {1}", typed(low, 0))
	case n > 1:
		s += "; " + l.Say("{1} knowns from {2} to {3}", l.numeral(n), typed(low, 0), typed(high, 0))
	}
	if m := l.listOr(matrix, ""); m != "" && n > 0 {
		s += " " + l.Say("in {1}", m)
	}
	if technique != "" {
		s += "; " + l.Say("numbers are for “{1}”", technique)
	}
	return s + "."
}

func knownRange(f assess.Findings) (low, high float64, n int) {
	low, high = math.Inf(1), math.Inf(-1)
	seen := map[float64]bool{}
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			seen[l.Level] = true
			low, high = math.Min(low, l.Level), math.Max(high, l.Level)
		}
	}
	return low, high, len(seen)
}
