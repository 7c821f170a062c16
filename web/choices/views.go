package choices

import (
	"fmt"
	"html/template"
	"math"

	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/num"
	"knownwater/science/unit"
	"knownwater/web/render"
)

// rowOf is a way beside the others.
func rowOf(as render.Reader, i int, n choose.NeedChoice, w choose.Way, widest [2]float64) wayRow {
	row := wayRow{Method: report.WayMethod(as.Language, w.Use), Way: report.WayWords(as.Language, w.Use), Verdict: as.Language.Say(w.Verdict), Class: report.VerdictClass(w.Verdict), Error: report.ErrorWords(as.Language, w),
		Minutes: minutesOf(as, w.Cost), Money: shown(w.Cost.Money, 3), Use: i == n.Use, Follows: report.Follows(as.Language, w)}
	for _, b := range w.Beyond {
		if row.Beyond != "" {
			row.Beyond += "; "
		}
		row.Beyond += report.WordsIn(as.Language, b)
	}
	zero, step := spanned(w.Shows), spanned(w.Step)
	row.Missing = report.SayAllIn(as.Language, w.Why)
	row.Zero, row.ZeroSVG = zero.words(as), zero.drawn("zero-"+render.ID(int64(i)), widest[0])
	row.Step, row.StepSVG = step.words(as), step.drawn("step-"+render.ID(int64(i)), widest[1])
	row.SVG = halfOf("way-"+render.ID(int64(i)), w)
	return row
}

// minutesOf are those of the shortest answer and the longest.
func minutesOf(as render.Reader, c choose.Cost) string {
	if c.Least < c.Minutes {
		return as.Language.Say("{1} to {2}", shown(c.Least, 3), shown(c.Minutes, 3))
	}
	return shown(c.Minutes, 3)
}

// spanned is a number with its 95 % limits; an end above what was tried is none.
type spanned choose.Spanned

func (s spanned) words(as render.Reader) string {
	switch {
	case !s.Is.OK():
		return "–"
	case !s.Low.OK():
		return shown(s.Is, 2)
	case !s.High.OK():
		return as.Language.Say("{1} (from {2} up)", shown(s.Is, 2), shown(s.Low, 2))
	}
	return as.Language.Say("{1} ({2} to {3})", shown(s.Is, 2), shown(s.Low, 2), shown(s.High, 2))
}

// drawn is it on a scale from 0 that all ways of a page share.
func (s spanned) drawn(id string, widest float64) template.HTML {
	if !s.Is.OK() || !s.Low.OK() || !(widest > 0) {
		return ""
	}
	high := float64(s.High)
	if !s.High.OK() {
		high = math.Inf(1)
	}
	row := chart.Row{ID: id, Low: 0, High: 1.05 * widest, Bars: []chart.Bar{{Low: float64(s.Low), High: high, Notch: float64(s.Is), Verdict: chart.Plain}}, Slim: true}
	return template.HTML(row.SVG())
}

// widestOf is how far the two scales of a page go.
func widestOf(n choose.NeedChoice) (widest [2]float64) {
	for _, w := range n.Ways {
		for i, s := range []choose.Spanned{w.Shows, w.Step} {
			for _, v := range []num.Number{s.Is, s.High} {
				if v.OK() {
					widest[i] = math.Max(widest[i], float64(v))
				}
			}
		}
	}
	return widest
}

// shown is a number to so many digits at most, or a dash.
func shown(n num.Number, digits int) string {
	if !n.OK() {
		return "–"
	}
	return fmt.Sprintf("%.*g", digits, float64(n))
}

var barOf = map[string]chart.Verdict{assess.Fit: chart.Within, assess.FitWhenCorrected: chart.Within, assess.NotFit: chart.Outside, assess.Undecided: chart.Undecided}

// halfOf is a way's error in units of the permitted one; nothing where that is not known.
func halfOf(id string, w choose.Way) template.HTML {
	p := float64(w.Error.Permitted)
	if !w.Error.High.OK() || !(p > 0) {
		return ""
	}
	h := chart.Half{ID: id, Tried: true, Bars: []chart.Bar{{Low: float64(w.Error.Low) / p, High: float64(w.Error.High) / p, Notch: math.NaN(), Verdict: barOf[w.Verdict]}}}
	return template.HTML(h.SVG())
}

// breakEven draws the money a year of the two ways that change places first, along the
// answers a month.
func breakEven(as render.Reader, n choose.NeedChoice) (template.HTML, [2]string) {
	for _, c := range n.Changes {
		if c.From < 0 || c.To < 0 {
			continue
		}
		a, b := n.Ways[c.From].Use, n.Ways[c.To].Use
		most := 2.5 * c.AnswersAMonth
		l := chart.Lines{ID: "break-even", Title: report.ChangeSays(as.Language, n, c), Desc: as.Language.Say("Money a year against answers a month; the dashed line is the second way."), Low: 0, High: most, Across: as.Language.Say("answers a month"), Up: as.Language.Say("money a year")}
		for _, u := range []choose.Use{a, b} {
			var s chart.Series
			for i := range 101 {
				m := most * float64(i) / 100
				if y, ok := u.MoneyAt(m); ok {
					s.At, s.Y = append(s.At, m), append(s.Y, y)
				}
			}
			s.Seen = []chart.Seen{{Level: c.AnswersAMonth, Signal: c.Money}}
			l.Sets = append(l.Sets, s)
		}
		return template.HTML(l.SVG()), [2]string{report.WayMethod(as.Language, a) + ", " + report.WayWords(as.Language, a), report.WayMethod(as.Language, b) + ", " + report.WayWords(as.Language, b)}
	}
	return "", [2]string{}
}

// mostAlong is how many errors over the range are drawn.
const mostAlong = 3

// alongOf draws the error over the need's range of the first ways of different methods.
func alongOf(as render.Reader, n choose.NeedChoice, scale unit.Scale) (out []alongView) {
	said := map[string]bool{}
	for _, w := range n.Ways {
		key := w.Report + w.Method
		if said[key] || w.Tests > 1 || len(out) == mostAlong {
			continue
		}
		said[key] = true
		a := report.AlongFigure(as.Language, w, n.Need, scale)
		if a.Drawn() {
			a.ID = "along-" + render.ID(int64(len(out)))
			out = append(out, alongView{report.WayMethod(as.Language, w.Use) + ", " + report.WayWords(as.Language, w.Use), template.HTML(a.SVG())})
		}
	}
	return out
}
