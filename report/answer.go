package report

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/num"
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
}

// mostSideBySide is how many methods stand side by side on a wide page.
const mostSideBySide = 7

// openView is a question that the readings put to the bench.
type openView struct {
	Method, Question, Evidence string
	Water                      bool // about the water, which is no slip
	Holds                      bool // a verdict waits for its answer
	Asking                     *askingView
	q                          assess.Question
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

// answerCell is one method for one need.
type answerCell struct {
	Method, Verdict, Class string
	Within                 string // ±0.31 to 0.72, of 1.1
	AsRead                 string // beside a verdict on corrected results
	Settle                 string // what would settle it, in few words
	Use                    bool
	SVG                    template.HTML
	bars                   []chart.Bar
	tried                  bool
}

// pointView is a point of a short list.
type pointView struct{ Head, Say string }

func newAnswer(f assess.Findings, t knownwater.Trial, scale string) answer {
	f = oneWater(f)
	all := usedOf(f, t)
	a := answer{From: restsOn(f, t), Open: openOf(f)}
	for _, u := range all {
		a.Columns = append(a.Columns, columnView{Name: u.name, How: u.how, Link: fmt.Sprintf("method-%d", u.no)})
		if s := u.reads(); s != "" {
			a.Reads = append(a.Reads, s)
		}
	}
	a.Many = len(all) > mostSideBySide
	var picks []pick
	for i, name := range needNames(f, t) {
		p := pickFor(name, all, t)
		picks = append(picks, p)
		a.Rows = append(a.Rows, newAnswerRow(i, p, all, t))
		if p.use >= 0 {
			a.Columns[p.use].Use = true
		}
	}
	a.Head = headOf(picks, all, len(a.Open))
	a.Says = newSays(f, picks, all, t, scale)
	a.Untried = untriedOf(f, t, scale)
	a.Next = nextOf(a, picks, all)
	return a
}

// used is a method as it is used: all its dilutions together.
type used struct {
	name, how string
	no        int     // of its first branch in the report, from 1
	over      float64 // the reading above which it is diluted; 0: it is not
	factor    float64
	method    knownwater.Method
	branches  []assess.MethodFinding
	needs     []assess.NeedFinding
}

// usedOf lists the methods of a trial as they are used: a procedure that dilutes
// above a reading is one, and its branches stand under it.
func usedOf(f assess.Findings, t knownwater.Trial) []used {
	var out []used
	at := map[[2]string]int{}
	for no, m := range f.Methods {
		p, whole := procedureWith(f, m)
		key := [2]string{m.Method, m.Matrix}
		if i, seen := at[key]; whole && seen {
			out[i].branches = append(out[i].branches, m)
			continue
		}
		u := used{name: nameOf(m), no: no + 1, how: clean(m.Kind), branches: []assess.MethodFinding{m}, needs: m.Needs}
		if whole {
			at[key] = len(out)
			bare := m
			bare.Dilution = 1
			u.name, u.needs = nameOf(bare), p.Needs
			u.over, u.factor = p.Branches[1].From, p.Branches[1].Dilution
			u.how += ", ×" + figureOf(u.factor, "") + " from " + figureOf(u.over, "")
		}
		for _, x := range t.Methods {
			if x.Name == m.Method {
				u.method = x
			}
		}
		out = append(out, u)
	}
	return out
}

// procedureWith is the procedure of several branches that a finding is one of.
func procedureWith(f assess.Findings, m assess.MethodFinding) (assess.Procedure, bool) {
	for _, p := range f.Procedures {
		if p.Method != m.Method || p.Matrix != m.Matrix || len(p.Branches) < 2 {
			continue
		}
		for _, b := range p.Branches {
			if b.Dilution == m.Dilution {
				return p, true
			}
		}
	}
	return assess.Procedure{}, false
}

// need is what was found of a need; false where the method was not judged by it.
func (u used) need(name string) (assess.NeedFinding, bool) {
	for _, n := range u.needs {
		if n.Need == name {
			return n, true
		}
	}
	return assess.NeedFinding{}, false
}

// verdictNow is a verdict as it is said: where no known lies in the need's
// range a method is not tried, which is no verdict at all.
func verdictNow(n assess.NeedFinding) string {
	if n.Verdict == assess.Undecided && !errorOf(n.Raw).OK() && !errorOf(n.Corrected).OK() {
		return assess.NotTried
	}
	return n.Verdict
}

func errorOf(e assess.ErrorWithin) estimate { return number(e.Error95, e.Low, e.High) }

func newAnswerRow(i int, p pick, all []used, t knownwater.Trial) answerRow {
	r := answerRow{Need: clean(p.need), Use: p.sentence(all), More: p.more(all), Link: fmt.Sprintf("need-%d", i+1)}
	if n, ok := needOf(t, p.need); ok {
		r.Range = fmt.Sprintf("%s to %s; permitted %s", typed(n.Low, 0), typed(n.High, 0), permittedShort(n))
	}
	for j, u := range all {
		c := answerCell{Method: u.name, Verdict: "not judged"}
		if n, ok := u.need(p.need); ok {
			c = cellOf(n)
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

// settles is what would settle a need by the branches of a procedure, where
// the procedure itself does not say: an undecided verdict never stands bare.
func (u used) settles(need string) string {
	for _, m := range u.branches {
		for _, n := range m.Needs {
			if n.Need == need && n.Verdict == assess.Undecided {
				if s := settleShort(n); s != "" {
					return s
				}
			}
		}
	}
	return "more tests, how many is not known"
}

// permittedShort is the permitted error at both ends of a need.
func permittedShort(n knownwater.Need) string {
	low, high := "±"+brief(n.PermittedAt(n.Low)), "±"+brief(n.PermittedAt(n.High))
	if low == high {
		return low
	}
	return low + " to " + high
}

// cellOf is a verdict with its error against the permitted one. Where a
// correction is what it hangs on, the corrected error stands first.
func cellOf(n assess.NeedFinding) answerCell {
	c := answerCell{Verdict: verdictNow(n)}
	c.Class = classNow(c.Verdict)
	c.tried = c.Verdict != assess.NotTried
	switch {
	case !c.tried:
		c.Settle = brieflyWhy(n)
		return c
	case n.Verdict == assess.FitWhenCorrected, n.Verdict == assess.Undecided && n.Raw.Verdict == assess.NotFit && errorOf(n.Corrected).OK():
		c.Within, c.bars = withinShort(n.Corrected), []chart.Bar{halfBar(n.Corrected, c.Verdict), halfBar(n.Raw, assess.NotFit)}
		if c.Within != "" {
			c.Within += ", corrected"
		}
		if s := errorOf(n.Raw); s.OK() {
			c.AsRead = "as read " + plusMinusTo(s)
		}
	case errorOf(n.Raw).OK():
		c.Within, c.bars = withinShort(n.Raw), []chart.Bar{halfBar(n.Raw, c.Verdict)}
	default:
		c.Within, c.bars = withinShort(n.Corrected), []chart.Bar{halfBar(n.Corrected, c.Verdict)}
	}
	if n.Verdict == assess.Undecided {
		c.Settle = settleShort(n)
	}
	return c
}

// classNow is how a verdict is filled and coloured on the first screen.
func classNow(verdict string) string {
	switch verdict {
	case assess.FitWhenCorrected:
		return "within"
	case assess.HeldBack:
		return "undecided"
	}
	return classOf(verdict)
}

// withinShort is "±0.31 to 0.72, of 1.1": the error of 95 in 100 results where
// it is worst, and what is permitted there.
func withinShort(e assess.ErrorWithin) string {
	v := errorOf(e)
	if !v.OK() {
		return ""
	}
	s := plusMinusTo(v)
	if e.Permitted.OK() {
		s += " of " + brief(float64(e.Permitted))
	}
	return s
}

// plusMinusTo is the interval of an error alone.
func plusMinusTo(v estimate) string {
	if v.To != "" {
		v.Est = ""
	}
	return v.plusMinus("")
}

// halfBar is an error in units of the permitted one.
func halfBar(e assess.ErrorWithin, verdict string) chart.Bar {
	low, high, p := float64(e.Low), float64(e.High), float64(e.Permitted)
	if !e.Low.OK() {
		low = float64(e.Error95)
	}
	if !e.High.OK() {
		high = math.Inf(1)
	}
	if !(p > 0) || math.IsNaN(low) {
		return chart.Bar{Low: math.NaN(), High: math.NaN()}
	}
	v := chart.Undecided
	switch verdict {
	case assess.Fit, assess.FitWhenCorrected:
		v = chart.Within
	case assess.NotFit:
		v = chart.Outside
	}
	return chart.Bar{Low: low / p, High: high / p, Verdict: v}
}

// settleShort is what would settle an undecided verdict, for a cell.
func settleShort(n assess.NeedFinding) string {
	if n.MoreTests.OK() {
		return things(int(math.Ceil(float64(n.MoreTests))), "more test")
	}
	return brieflyWhy(n)
}

// brieflyWhy is the first reason that has short words.
func brieflyWhy(n assess.NeedFinding) string {
	for _, why := range n.Why {
		if s := briefly[why.Code]; s != nil {
			return s(why)
		}
	}
	return ""
}

// briefly says in few words what the longer sentence of a code says.
var briefly = map[string]phrase{
	"too-close":                    text("too close"),
	"too-few-readers":              text("{new} more readers"),
	"too-few-lots":                 text("{new} more lots"),
	"knowns-too-loose":             text("surer knowns"),
	"off-the-top":                  text("runs off its top there"),
	"no-response":                  text("no usable response"),
	"not-tested-between":           text("needs a known from {low} to {high}"),
	"not-tested-below":             text("needs a known below {level}"),
	"not-tested-above":             text("needs a known above {level}"),
	"judged-on-single-readings":    text("read each known again"),
	"corrected-on-single-readings": text("read each known again"),
}

// reads says where a method reads low or high; nothing where neither is shown.
func (u used) reads() string {
	var parts []string
	for _, m := range u.branches {
		for _, n := range m.Notes {
			if n.Code == "reads" || n.Code == "reads-singly" {
				parts = append(parts, offWords(n)...)
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return u.name + " " + strings.Join(parts, ", ")
}

// openOf are the questions that the readings put to the bench, those that hold
// a verdict back first.
func openOf(f assess.Findings) []openView {
	var holding, others []openView
	for _, q := range f.Questions {
		v := openView{Method: clean(q.Method), Question: Say(q.Says), Evidence: rowWords(q.At, mostRowsFirst), Holds: q.HoldsBack, Water: q.Kind == assess.QuestionWater, q: q}
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
func restsOn(f assess.Findings, t knownwater.Trial) string {
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
	s := things(total, "reading")
	if len(vials) > 0 {
		s += " of " + things(len(vials), "vial")
	}
	s += ", " + orNone(clean(f.Analyte)) + " in " + scaleOf(f)
	low, high, n := knownRange(f)
	switch {
	case n == 1:
		s += "; one known, " + typed(low, 0)
	case n > 1:
		s += fmt.Sprintf("; %s knowns from %s to %s", numeral(n), typed(low, 0), typed(high, 0))
	}
	if m := listOr(matrix, ""); m != "" && n > 0 {
		s += " in " + m
	}
	if technique != "" {
		s += "; numbers are for “" + technique + "”"
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

// scaleSpan is the scale of a short row of read-backs.
func scaleSpan(backs []assess.ReadBack) chart.Scale {
	var ends []float64
	for _, r := range backs {
		for _, n := range []num.Number{r.Low, r.High} {
			if n.OK() {
				ends = append(ends, float64(n))
			}
		}
	}
	s := chart.ScaleFor(ends...)
	s.Top *= 1.15
	return s
}
