package report

import (
	"html/template"
	"math"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
)

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

// verdictNow is a verdict as it is said: where no known lies in the need's
// range a method is not tried, which is no verdict at all.
func verdictNow(n assess.NeedFinding) string {
	if n.Verdict == assess.Undecided && !errorOf(n.Raw).OK() && !errorOf(n.Corrected).OK() {
		return assess.NotTried
	}
	return n.Verdict
}

func errorOf(e assess.ErrorWithin) estimate { return number(e.Error95, e.Low, e.High) }

// permittedShort is the permitted error at both ends of a need.
func (l speech) permittedShort(n knownwater.Need) string {
	low, high := "±"+brief(n.PermittedAt(n.Low)), "±"+brief(n.PermittedAt(n.High))
	if low == high {
		return low
	}
	return l.Say("{1} to {2}", low, high)
}

// cellOf is a verdict with its error against the permitted one. Where a
// correction is what it hangs on, the corrected error stands first.
func (l speech) cellOf(n assess.NeedFinding) answerCell {
	verdict := verdictNow(n)
	c := answerCell{Verdict: l.Say(verdict), Class: classNow(verdict), tried: verdict != assess.NotTried}
	switch {
	case !c.tried:
		c.Settle = l.brieflyWhy(n)
		return c
	case n.Verdict == assess.FitWhenCorrected, n.Verdict == assess.Undecided && n.Raw.Verdict == assess.NotFit && errorOf(n.Corrected).OK():
		c.Within, c.bars = l.withinShort(n.Corrected), []chart.Bar{halfBar(n.Corrected, verdict), halfBar(n.Raw, n.Raw.Verdict)}
		if c.Within != "" {
			c.Within = l.Say("{1}, corrected", c.Within)
		}
		if v, _ := l.besidePermitted(n.Raw.Error95, n.Raw.Low, n.Raw.High, n.Raw.Permitted); v.OK() {
			c.AsRead = l.Say("as read {1}", l.plusMinusTo(v))
		}
	case errorOf(n.Raw).OK():
		c.Within, c.bars = l.withinShort(n.Raw), []chart.Bar{halfBar(n.Raw, verdict)}
	default:
		c.Within, c.bars = l.withinShort(n.Corrected), []chart.Bar{halfBar(n.Corrected, verdict)}
	}
	if n.Verdict == assess.Undecided {
		c.Settle = l.settleShort(n)
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
func (l speech) withinShort(e assess.ErrorWithin) string {
	v, permitted := l.besidePermitted(e.Error95, e.Low, e.High, e.Permitted)
	if !v.OK() {
		return ""
	}
	s := l.plusMinusTo(v)
	if e.Permitted.OK() {
		s = l.Say("{1} of {2}", s, permitted)
	}
	return s
}

// plusMinusTo is the interval of an error alone.
func (l speech) plusMinusTo(v estimate) string {
	if v.To != "" {
		v.Est = ""
	}
	return l.plusMinus(v, "")
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
func (l speech) settleShort(n assess.NeedFinding) string {
	if n.MoreTests.OK() {
		return l.things(int(math.Ceil(float64(n.MoreTests))), "more test")
	}
	return l.brieflyWhy(n)
}

// brieflyWhy is the first reason that has short words.
func (l speech) brieflyWhy(n assess.NeedFinding) string {
	for _, why := range n.Why {
		if s := briefly[why.Code]; s != nil {
			return s(told{why, l})
		}
	}
	return ""
}

// briefly says in few words what the longer sentence of a code says.
var briefly = map[string]phrase{
	"too-close":                    text("too close"),
	"too-few-readers":              text("{new} more readers"),
	"too-few-lots":                 text("{new} more lots"),
	"readers-tell-little":          text("perhaps {new} more readers"),
	"lots-tell-little":             text("perhaps {new} more lots"),
	"only-untried-lot-open":        text("more lots"),
	"knowns-too-loose":             text("surer knowns"),
	"off-the-top":                  text("runs off its top there"),
	"no-response":                  text("no usable response"),
	"not-tested-between":           text("needs a known from {low} to {high}"),
	"not-tested-below":             text("needs a known below {level}"),
	"not-tested-above":             text("needs a known above {level}"),
	"not-tested-undiluted":         text("needs an undiluted known near {over}"),
	"not-tested-diluted":           text("needs a diluted known near {over}"),
	"judged-on-single-readings":    text("read each known again"),
	"corrected-on-single-readings": text("read each known again"),
}
