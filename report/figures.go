package report

import (
	"fmt"
	"html/template"
	"math"
	"strconv"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// Figures are made by package chart, which escapes every label itself; that is
// why they may enter the page as HTML.
func figure(svg string) template.HTML { return template.HTML(svg) }

// val is a Number for a figure: not a number stays so.
func val(n num.Number) float64 { return float64(n) }

// biasVerdict judges an interval of bias against what is permitted. Touching
// the edge is undecided.
func biasVerdict(l assess.LevelFinding, permitted float64) chart.Verdict {
	switch {
	case !(permitted > 0) || !l.BiasLow.OK() || !l.BiasHigh.OK():
		return chart.Plain
	case val(l.BiasLow) > -permitted && val(l.BiasHigh) < permitted:
		return chart.Within
	case val(l.BiasLow) > permitted || val(l.BiasHigh) < -permitted:
		return chart.Outside
	}
	return chart.Undecided
}

// word is a verdict of a bar in a word.
func word(v chart.Verdict) string {
	return [...]string{"not judged", "within", "undecided", "outside", ""}[v]
}

func class(v chart.Verdict) string {
	return [...]string{"", "within", "undecided", "outside", "known"}[v]
}

// ladderSet is one need with the ladders of the methods judged by it; without a
// need, all methods on plain error.
type ladderSet struct {
	Name    string
	Judged  bool
	Ladders []ladderView
	Columns int
}

type ladderView struct {
	Name, Counts string
	SVG          template.HTML
}

// permit is what a need permits at a level; 0 where it does not reach.
func permit(n *knownwater.Need, level float64) float64 {
	if n == nil || level < n.Low || level > n.High {
		return 0
	}
	return n.PermittedAt(level)
}

// unitAt is what errors at a level are divided by in a ladder: the permitted
// error; past the need's range that of its end, growing with the level above it,
// so that neighbours stay comparable; 1 without a need.
func unitAt(n *knownwater.Need, level float64) float64 {
	if n == nil {
		return 1
	}
	unit := n.PermittedAt(math.Max(n.Low, math.Min(n.High, level)))
	if n.High > 0 && level > n.High {
		unit *= level / n.High
	}
	return unit
}

// newLadders draws all methods against one need. The first set shows every
// level; the further ones only those that their need reaches.
func newLadders(f assess.Findings, need *knownwater.Need, set int, scale string, behind Behind) ladderSet {
	out := ladderSet{Judged: need != nil}
	if need != nil {
		out.Name = clean(need.Name)
	}
	half := halfOf(f, need)
	var all []float64
	var ladders []chart.Ladder
	for i, m := range f.Methods {
		l := chart.Ladder{ID: fmt.Sprintf("ladder-%d-%d", set, i), Judged: need != nil, Half: half,
			Title:  english.Say("{1}: readings and bias at {2}", nameOf(m), plural(len(m.Levels), "known")),
			Labels: chart.LadderLabels{Known: "known", Permitted: "permitted", Bias: "bias", Low: "reads low", High: "reads high"}}
		if need == nil {
			l.Labels.Permitted = english.Say("no error")
		}
		for _, lf := range m.Levels {
			p := permit(need, lf.Level)
			if set > 0 && p == 0 {
				continue
			}
			r := newRung(lf, p, unitAt(need, lf.Level))
			if behind != nil {
				r.Href = behind(m, lf.Level, "")
				for k, seen := range lf.Seen {
					r.Readings[k].Href = behind(m, lf.Level, seen.Text)
				}
			}
			l.Rungs = append(l.Rungs, r)
			l.Desc += rungWords(lf, p, need != nil)
			all = append(all, lf.Level)
		}
		if len(l.Rungs) == 0 {
			continue
		}
		l.Desc = english.Say("95 % interval of bias, {1}. {2}", scale, l.Desc)
		ladders = append(ladders, l)
		out.Ladders = append(out.Ladders, ladderView{Name: nameOf(m), Counts: capital(kindOf(m)) + "; " + countsOf(m)})
	}
	s := chart.ScaleFor(all...)
	for i := range ladders {
		ladders[i].Scale = s
	}
	for i, svg := range chart.Ladders(ladders) {
		out.Ladders[i].SVG = figure(svg)
	}
	out.Columns = columns(len(out.Ladders))
	return out
}

// columns is how many ladders stand side by side on a wide page: no row with a
// single one left over.
func columns(n int) int {
	switch {
	case n <= 4:
		return max(n, 2)
	case n <= 6 || n == 9:
		return 3
	}
	return 4
}

func newRung(l assess.LevelFinding, permitted, unit float64) chart.Rung {
	b := signed(l.Bias, l.BiasLow, l.BiasHigh)
	r := chart.Rung{Level: l.Level, U: 2 * l.ULevel, Unit: unit, Outside: permitted == 0, Label: typed(l.Level, l.ULevel),
		Bias: chart.Bar{Low: val(l.BiasLow), High: val(l.BiasHigh), Notch: val(l.Bias), Verdict: biasVerdict(l, permitted)}}
	if permitted > 0 {
		r.Under = "±" + brief(permitted)
	}
	if l.BiasLow.OK() && l.BiasHigh.OK() {
		u := halfWidth(l.Bias, l.BiasLow, l.BiasHigh)
		r.Upper, r.Lower = rounded(val(l.BiasHigh), u, true), rounded(val(l.BiasLow), u, true)
	} else {
		r.Upper = b.Est
	}
	for _, s := range l.Seen {
		r.Readings = append(r.Readings, mark(s))
	}
	return r
}

// mark is a seen reading for a figure: null ends are open.
func mark(s assess.SeenReading) chart.Mark {
	m := chart.Mark{Low: math.Inf(-1), High: math.Inf(1), Count: s.Count}
	if s.Low.OK() {
		m.Low = val(s.Low)
	}
	if s.High.OK() {
		m.High = val(s.High)
	}
	return m
}

func rungWords(l assess.LevelFinding, permitted float64, judged bool) string {
	b := signed(l.Bias, l.BiasLow, l.BiasHigh)
	if judged {
		return english.Say("At {1}: bias {2}, {3}.", typed(l.Level, l.ULevel), b.String(), word(biasVerdict(l, permitted))) + " "
	}
	return english.Say("At {1}: bias {2}.", typed(l.Level, l.ULevel), b.String()) + " "
}

// halfOf is half the frame of a set of ladders: wide enough for the bars within
// bounds; what goes on is cut with a slash.
func halfOf(f assess.Findings, need *knownwater.Need) float64 {
	most := 0.0
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			unit := permit(need, l.Level)
			if need == nil {
				unit = 1
			}
			if unit > 0 {
				for _, n := range []num.Number{l.BiasLow, l.BiasHigh} {
					if n.OK() {
						most = math.Max(most, math.Abs(val(n))/unit)
					}
				}
			}
		}
	}
	if need == nil {
		if most == 0 {
			most = farthest(f)
		}
		return math.Max(most*1.1, 1e-9)
	}
	return math.Min(math.Max(most*1.1, 2), 3)
}

// farthest is the largest error of any reading that is closed at both ends.
func farthest(f assess.Findings) float64 {
	most := 0.0
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			for _, s := range l.Seen {
				if s.Low.OK() && s.High.OK() {
					most = math.Max(most, math.Max(math.Abs(val(s.Low)-l.Level), math.Abs(val(s.High)-l.Level)))
				}
			}
		}
	}
	return most
}

// stripView is the flat ladder of one method against one need.
type stripView struct{ Rungs []stripRung }
type stripRung struct {
	Level string
	SVG   template.HTML
	Words string
}

func newStrip(m assess.MethodFinding, n *knownwater.Need, id string) stripView {
	var out stripView
	for i, l := range m.Levels {
		p := permit(n, l.Level)
		if p == 0 {
			continue
		}
		v := biasVerdict(l, p)
		flat := chart.Flat{ID: fmt.Sprintf("%s-%d", id, i), Half: 1.8, Judged: true,
			Bar: chart.Bar{Low: val(l.BiasLow) / p, High: val(l.BiasHigh) / p, Notch: math.NaN(), Verdict: v}}
		out.Rungs = append(out.Rungs, stripRung{typed(l.Level, l.ULevel), figure(flat.SVG()), english.Say("{1}, bias {2}", word(v), signed(l.Bias, l.BiasLow, l.BiasHigh).String())})
	}
	return out
}

// rulerView is one method as its own ruler.
type rulerView struct {
	Name, First, Words string
	SVG                template.HTML
}

const mostSteps = 400

// newRulers draws each method's steps on one axis.
func newRulers(f assess.Findings, scale string) (rulers []rulerView, axis template.HTML) {
	var all []float64
	for _, m := range f.Methods {
		for _, l := range m.Levels {
			all = append(all, l.Level)
		}
	}
	s := chart.ScaleFor(all...)
	for i, m := range f.Methods {
		if len(m.Steps) == 0 || len(m.Levels) == 0 {
			continue
		}
		var at, step []float64
		for _, x := range m.Steps {
			at, step = append(at, x.At), append(step, val(x.SmallestStep))
		}
		until := m.Levels[len(m.Levels)-1].Level
		ends := chart.StepEnds(at, step, at[0], until, mostSteps)
		r := rulerView{Name: nameOf(m), First: english.Say("first step from {1} to {2}", typed(at[0], 0), none)}
		if len(ends) > 0 {
			r.First = english.Say("first step from {1} to {2}", typed(at[0], 0), two(ends[0]))
		}
		r.Words = stepsWords(len(ends), at[0], until)
		c := chart.Ruler{ID: fmt.Sprintf("ruler-%d", i), Title: r.Name + ": " + r.Words + " " + scale, Scale: s, Start: at[0], Ends: ends}
		if until < s.Top*.99 {
			c.Beyond = english.Say("not tried")
		}
		r.SVG = figure(c.SVG())
		rulers = append(rulers, r)
	}
	return rulers, figure(chart.RulerAxis(s))
}

func stepsWords(n int, from, until float64) string {
	switch {
	case n == 0:
		return english.Say("no whole step between {1} and {2}", typed(from, 0), typed(until, 0))
	case n >= mostSteps:
		return english.Say("{1} steps or more between {2} and {3}", strconv.Itoa(n), typed(from, 0), typed(until, 0))
	case n == 1:
		return english.Say("1 step between {1} and {2}", typed(from, 0), typed(until, 0))
	}
	return english.Say("{1} steps between {2} and {3}", strconv.Itoa(n), typed(from, 0), typed(until, 0))
}
