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
func rowOf(i int, n choose.NeedChoice, w choose.Way, from []choose.Trial) wayRow {
	row := wayRow{Method: report.WayMethod(w.Use), Way: report.WayWords(w.Use), Verdict: w.Verdict, Class: report.VerdictClass(w.Verdict), Error: report.ErrorWords(w),
		Minutes: shown(w.Cost.Minutes, 3), Money: shown(w.Cost.Money, 3), Use: i == n.Use, Follows: report.Follows(w)}
	for _, b := range w.Beyond {
		if row.Beyond != "" {
			row.Beyond += "; "
		}
		row.Beyond += report.Words(b)
	}
	row.Zero, row.Step = alone(n, w, from)
	row.SVG = halfOf("way-"+render.ID(int64(i)), w)
	return row
}

// shown is a number to so many digits at most, or a dash.
func shown(n num.Number, digits int) string {
	if !n.OK() {
		return "–"
	}
	return fmt.Sprintf("%.*g", digits, float64(n))
}

// alone are what single readings of a way show: the least that shows at all, and the smallest
// rise from the need's lower end.
func alone(n choose.NeedChoice, w choose.Way, from []choose.Trial) (zero, step string) {
	zero, step = "–", "–"
	if w.Tests > 1 || w.Curve != "" || w.Verdict == assess.NotTried {
		return zero, step
	}
	for _, t := range from {
		if t.Name != w.Report {
			continue
		}
		for _, m := range t.Findings.Methods {
			if m.Method != w.Method || m.Matrix != w.Matrix || w.Dilution == 0 && m.Dilution != 1 || w.Dilution != 0 && m.Dilution != w.Dilution {
				continue
			}
			zero = shown(m.Limits.Detection, 2)
			for _, s := range m.Steps {
				if s.At <= n.Need.Low*(1+1e-9) || step == "–" {
					step = shown(s.SmallestStep, 2)
				}
			}
		}
	}
	return zero, step
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
func breakEven(n choose.NeedChoice) (template.HTML, [2]string) {
	for _, c := range n.Changes {
		if c.From < 0 || c.To < 0 {
			continue
		}
		a, b := n.Ways[c.From].Use, n.Ways[c.To].Use
		most := 2.5 * c.AnswersAMonth
		l := chart.Lines{ID: "break-even", Title: report.ChangeSays(n, c), Desc: "Money a year against answers a month; the dashed line is the second way.", Low: 0, High: most, Across: "answers a month", Up: "money a year"}
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
		return template.HTML(l.SVG()), [2]string{report.WayMethod(a) + ", " + report.WayWords(a), report.WayMethod(b) + ", " + report.WayWords(b)}
	}
	return "", [2]string{}
}

// mostAlong is how many errors over the range are drawn.
const mostAlong = 3

// alongOf draws the error over the need's range of the first ways of different methods.
func alongOf(n choose.NeedChoice, scale unit.Scale) (out []alongView) {
	said := map[string]bool{}
	for _, w := range n.Ways {
		key := w.Report + w.Method
		if said[key] || w.Tests > 1 || len(out) == mostAlong {
			continue
		}
		said[key] = true
		a := report.AlongFigure(w, n.Need, scale)
		if a.Drawn() {
			a.ID = "along-" + render.ID(int64(len(out)))
			out = append(out, alongView{report.WayMethod(w.Use) + ", " + report.WayWords(w.Use), template.HTML(a.SVG())})
		}
	}
	return out
}
