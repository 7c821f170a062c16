package web

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strconv"
	"strings"

	"knownwater/bench"
	"knownwater/chart"
	"knownwater/science/curve"
)

// recheckKnowns is how many knowns the form takes.
const recheckKnowns = 4

// recheckPage asks whether a version of a curve still holds.
type recheckPage struct {
	Curve      curveLine
	Form       *form
	Rows       []int // the knowns of the form, from 1
	Dilution   float64
	Result     *curve.Recheck
	Verdict    string
	Class      string
	Slope      template.HTML
	SlopeAxis  template.HTML
	Blank      template.HTML
	BlankAxis  template.HTML
	BlankWords string
	Loose      []string
}

// recheckCurve is asked with the signals in the address: nothing is kept.
func (s *Server) recheckCurve(w http.ResponseWriter, r *http.Request) {
	c, err := s.versionOf(r, true)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	f := &form{Values: r.URL.Query()}
	if f.text("margin") == "" {
		f.Set("margin", "5")
	}
	p := newRecheckPage(c, f)
	status := http.StatusOK
	if f.Values.Has("blank") && p.Curve.Fitted() {
		if p.judge(f.recheck()); len(f.faults) > 0 {
			status = http.StatusUnprocessableEntity
		}
	}
	s.showRecheck(w, r, status, p)
}

func newRecheckPage(c bench.Curve, f *form) recheckPage {
	p := recheckPage{Curve: lineOf(c), Form: f}
	p.Dilution = bench.RecheckDilution(p.Curve.Doc)
	for i := range recheckKnowns {
		p.Rows = append(p.Rows, i+1)
	}
	return p
}

func (s *Server) showRecheck(w http.ResponseWriter, r *http.Request, status int, p recheckPage) {
	p.Loose = p.Form.Loose(p.fields()...)
	s.show(w, r, status, "curve-recheck", frame{Title: "Does it still hold? " + p.Curve.Spec.Name, Part: "curves", Page: p})
}

// fields are the fields of the form that show their own faults.
func (p recheckPage) fields() []string {
	out := []string{"blank", "margin", "why"}
	for _, i := range p.Rows {
		n := strconv.Itoa(i)
		out = append(out, "level_"+n, "u_"+n, "signals_"+n)
	}
	return out
}

// recheck reads what was typed; a row of which nothing is typed is none.
func (f *form) recheck() bench.Recheck {
	r := bench.Recheck{Blank: f.signals("blank"), Margin: f.number("margin", aNumber) / 100}
	for i := range recheckKnowns {
		n := strconv.Itoa(i + 1)
		if f.text("level_"+n) == "" && f.text("u_"+n) == "" && f.text("signals_"+n) == "" {
			continue
		}
		r.Knowns = append(r.Knowns, bench.RecheckKnown{Level: f.number("level_"+n, aNumber), ULevel: f.number("u_"+n, aNumber), Signals: f.signals("signals_" + n)})
	}
	return r
}

// signals reads numbers with spaces or semicolons between.
func (f *form) signals(name string) (out []float64) {
	for _, text := range strings.Fields(strings.ReplaceAll(f.Get(name), ";", " ")) {
		v, err := parseNumber(text)
		if err != nil {
			f.wrong(name, "“"+text+"” is no number", "signals with spaces between: 0.273 0.275")
			continue
		}
		out = append(out, v)
	}
	return out
}

// inRow puts faults of a re-check beside the fields of the known they speak of.
func (f *form) inRow(err error) bool {
	faults, ok := asFaults(err)
	if !ok {
		return false
	}
	var filled []string
	for i := range recheckKnowns {
		n := strconv.Itoa(i + 1)
		if f.text("level_"+n) != "" || f.text("u_"+n) != "" || f.text("signals_"+n) != "" {
			filled = append(filled, n)
		}
	}
	for _, x := range faults {
		n := "1"
		if x.Row > 0 && x.Row <= len(filled) {
			n = filled[x.Row-1]
		}
		if x.Row > 0 {
			x.Column, x.Row = x.Column+"_"+n, 0
		}
		if f.Wrong(x.Column) == "" { // a text that is no number was said already
			f.faults = append(f.faults, x)
		}
	}
	return true
}

func (p *recheckPage) judge(r bench.Recheck) {
	result, err := r.Against(p.Curve.Doc)
	if p.Form.inRow(err) || len(p.Form.faults) > 0 {
		return
	}
	p.Result = &result
	p.Verdict = map[string]string{
		curve.Holds: "It holds.", curve.UpdateSlope: "It no longer holds; a slope update is enough.",
		curve.NewCurve: "It no longer holds; make a new curve.", curve.Undecided: "Undecided."}[result.Verdict]
	p.Class = map[string]string{curve.Holds: "within", curve.Undecided: "undecided"}[result.Verdict]
	if p.Class == "" {
		p.Class = "outside"
	}
	p.Slope, p.SlopeAxis = shiftMark("slope", "change of slope", result.SlopeLow-1, result.Slope-1, result.SlopeHigh-1, r.Margin)
	stands := result.BlankLow <= 0 && 0 <= result.BlankHigh
	p.BlankWords = fmt.Sprintf("%s: %s", errorWords(result.BlankLow, result.BlankHigh), map[bool]string{true: "it stands", false: "it has moved"}[stands])
	low, high := chart.Around(result.BlankLow, result.BlankHigh)
	half := math.Max(-low, high)
	row := chart.Row{ID: "row-blank", Title: "blank’s signal less the curve’s, " + errorWords(result.BlankLow, result.BlankHigh), Low: -half, High: half,
		Bars: []chart.Bar{{Low: result.BlankLow, High: result.BlankHigh, Notch: result.Blank, Verdict: chart.Known}}}
	p.Blank, p.BlankAxis = template.HTML(row.SVG()), template.HTML(row.Axis(true))
}

// shiftMark is a relative shift in per cent against the margin within which it is of no
// account: solid within it, hollow outside, hatched where it is neither.
func shiftMark(id, what string, low, mid, high, margin float64) (mark, axis template.HTML) {
	v := chart.Undecided
	switch {
	case low >= -margin && high <= margin:
		v = chart.Within
	case low > margin || high < -margin:
		v = chart.Outside
	}
	return shiftRow(id, what, low, mid, high, margin, v)
}

// shiftRow is shiftMark with a verdict of its own.
func shiftRow(id, what string, low, mid, high, margin float64, v chart.Verdict) (mark, axis template.HTML) {
	half := 1.25 * math.Max(margin, math.Max(math.Abs(low), math.Abs(high)))
	row := chart.Row{ID: "row-" + id, Title: what + " from " + errorWords(100*low, 100*high) + " %", Low: -100 * half, High: 100 * half, Margin: 100 * margin,
		Bars: []chart.Bar{{Low: 100 * low, High: 100 * high, Notch: 100 * mid, Verdict: v}}}
	return template.HTML(row.SVG()), template.HTML(row.Axis(true))
}
