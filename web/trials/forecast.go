package trials

import (
	"fmt"
	"html/template"
	"math"

	"knownwater"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/plan"
	"knownwater/web/render"
	"knownwater/wording"
)

// outlookView is a forecast as it is drawn: every mark is an interval.
type outlookView struct {
	Methods []outlookMethod
	Notes   []string
	Runs    int
	Short   int // simulated fewer than wanted, for want of time; 0: all
}

type outlookMethod struct {
	Name     string
	Readings int
	Spread   string
	Chances  []chanceView
	Levels   []biasView
}

type chanceView struct {
	Need    string
	Decided string
	Advice  string // what to do where most such trials end undecided
	SVG     template.HTML
}

// biasView is what a plan would see at a level: an error larger than Bias shows.
type biasView struct {
	Level, Bias, Permitted string
	SVG                    template.HTML
}

// viewOutlook puts a forecast beside the first need of the plan.
func viewOutlook(l *wording.Language, o plan.Outlook, needs []knownwater.NeedEntry) *outlookView {
	v := &outlookView{Notes: report.SayAll(o.Notes), Runs: o.Runs}
	if o.Runs < o.Wanted {
		v.Short = o.Wanted
	}
	for i, m := range o.Methods {
		name := m.Method
		if m.Dilution > 1 {
			name += " ×" + render.Number(m.Dilution)
		}
		om := outlookMethod{Name: name, Readings: m.Readings, Spread: render.TwoDigits(m.SpreadWithin)}
		for j, n := range m.Needs {
			om.Chances = append(om.Chances, chanceView{n.Need, report.Decided(n), advice(l, n), chances(fmt.Sprintf("chance-%d-%d", i, j), n)})
		}
		for j, b := range m.SmallestBias {
			om.Levels = append(om.Levels, viewBias(l, fmt.Sprintf("bias-%d-%d", i, j), b, needs))
		}
		v.Methods = append(v.Methods, om)
	}
	return v
}

// advice is for a plan that most likely leaves a need undecided.
func advice(l *wording.Language, n plan.NeedOutlook) string {
	if n.High >= 0.5 { // so few runs may have left it open by chance
		return ""
	}
	return l.Say("Most such trials leave it open. More vials a level help, above all at the ends of the need; where the method’s spread comes close to the permitted error, no number of them will.")
}

func viewBias(l *wording.Language, id string, b plan.BiasSeen, needs []knownwater.NeedEntry) biasView {
	v := biasView{Level: render.Number(b.Level), Bias: render.TwoDigits(b.Bias)}
	if len(needs) == 0 || math.IsNaN(b.Bias) {
		return v
	}
	n := needs[0].Need
	if b.Level < n.Low || b.Level > n.High {
		return v
	}
	permitted := n.PermittedAt(b.Level)
	if !(permitted > 0) {
		return v
	}
	v.Permitted = render.TwoDigits(permitted)
	verdict := chart.Within
	if b.Bias >= permitted {
		verdict = chart.Undecided
	}
	strip := chart.Flat{ID: id, Half: 2, Judged: true, Title: l.Say("bias seen from {1} on; permitted {2}", v.Bias, v.Permitted),
		Bar: chart.Bar{Low: -b.Bias / permitted, High: b.Bias / permitted, Notch: math.NaN(), Verdict: verdict}}
	v.SVG = template.HTML(strip.SVG())
	return v
}

// chances draws the three verdicts that a plan may end with as parts of one
// bar: solid fit, hatched undecided, hollow not fit.
func chances(id string, n plan.NeedOutlook) template.HTML {
	share := func(k int) float64 { return 100 * float64(k) / float64(max(1, n.Runs)) }
	open := n.Runs - n.Decided()
	fit, und, not := share(n.Fit), share(open), share(n.NotFit)
	return template.HTML(fmt.Sprintf(`<svg class="mark" width="100%%" height="36" role="img" aria-label="fit %d, undecided %d, not fit %d of %d trials">`+
		`<defs><pattern id="%s" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="c-line" d="M0 0v5"/></pattern></defs>`+
		`<rect class="c-fit" width="%.2f%%" y="1" height="14"/><rect class="c-und" x="%.2f%%" width="%.2f%%" y="1" height="14" fill="url(#%s)"/><rect class="c-not" x="%.2f%%" width="%.2f%%" y="1" height="14"/>`+
		`<text x="0" y="31">fit %d</text><text x="50%%" y="31" text-anchor="middle">undecided %d</text><text x="100%%" y="31" text-anchor="end">not fit %d</text></svg>`,
		n.Fit, open, n.NotFit, n.Runs, id, fit, fit, und, id, fit+und, not, n.Fit, open, n.NotFit))
}
