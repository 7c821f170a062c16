package web

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
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
	Update     bool // a slope update may be made of it
	NoUpdate   string
	Kept       []bench.KeptRecheck
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
	p := s.newRecheckPage(c, f)
	status := http.StatusOK
	if f.Values.Has("blank") && p.Curve.Fitted() {
		if p.judge(f.recheck()); len(f.faults) > 0 {
			status = http.StatusUnprocessableEntity
		}
	}
	s.showRecheck(w, r, status, p)
}

// keepRecheck keeps what was judged, and makes the next version of it where that was
// asked for.
func (s *Server) keepRecheck(w http.ResponseWriter, r *http.Request) {
	f, c, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	seen := f.recheck()
	var now bench.Curve
	var err error
	if len(f.faults) == 0 {
		now, err = s.bench.KeepRecheck(r.Context(), whoIs(r), c.VersionID, seen, f.ticked("update"), f.Get("why"), s.opt.Version)
	}
	if f.inRow(err) || len(f.faults) > 0 {
		p := s.newRecheckPage(c, f)
		p.judge(seen)
		s.showRecheck(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if !f.ticked("update") {
		s.tell(r, "The re-check is kept.")
		http.Redirect(w, r, curvePath(c.ID)+"/recheck?version="+itoa(c.VersionID)+"#kept", http.StatusSeeOther)
		return
	}
	s.tell(r, "Kept as version "+itoa(int64(now.Version))+", with its re-check. The version before stands as it was; look at this one, then take it into use.")
	http.Redirect(w, r, curvePath(now.ID), http.StatusSeeOther)
}

func (s *Server) newRecheckPage(c bench.Curve, f *form) recheckPage {
	p := recheckPage{Curve: s.lineOf(c), Form: f}
	p.Dilution = bench.RecheckDilution(p.Curve.Doc)
	for i := range recheckKnowns {
		p.Rows = append(p.Rows, i+1)
	}
	return p
}

func (s *Server) showRecheck(w http.ResponseWriter, r *http.Request, status int, p recheckPage) {
	var err error
	if p.Kept, err = s.bench.Rechecks(r.Context(), p.Curve.ID); err != nil {
		s.fail(w, r, err)
		return
	}
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

// Typed are the fields of what was seen.
func (p recheckPage) Typed() []string {
	return slices.DeleteFunc(p.fields(), func(name string) bool { return name == "why" })
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

// recheckWords are the signals of a re-check on one line.
func recheckWords(r bench.Recheck) string {
	list := func(signals []float64) string {
		var out []string
		for _, v := range signals {
			out = append(out, num(v))
		}
		return strings.Join(out, " ")
	}
	words := "0: " + list(r.Blank)
	for _, k := range r.Knowns {
		words += "; " + num(k.Level)
		if k.ULevel > 0 {
			words += " ± " + num(k.ULevel)
		}
		words += ": " + list(k.Signals)
	}
	return words
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
	if p.Form.Wrong("why") == "" && p.Form.Wrong("update") == "" { // else it is judged, and only not kept
		if p.Form.inRow(err); len(p.Form.faults) > 0 {
			return
		}
	}
	if err != nil {
		return
	}
	p.Result = &result
	p.keeping(result)
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
	p.Blank, p.BlankAxis = knownRow("blank", "blank’s signal less the curve’s", result.BlankLow, result.Blank, result.BlankHigh)
}

// keeping says what can be made of the re-check. The reason is proposed, to be
// put in one's own words.
func (p *recheckPage) keeping(result curve.Recheck) {
	if p.Form.text("why") == "" && p.Form.Wrong("why") == "" {
		p.Form.Set("why", fmt.Sprintf("Re-check of version %d: %s.", p.Curve.Version, result.Verdict))
	}
	switch {
	case result.Verdict != curve.UpdateSlope:
	case !p.Curve.Latest:
		p.NoUpdate = "There is a newer version of this curve: re-check that one to give it another slope."
	case p.Curve.Retired:
		p.NoUpdate = "The curve is put away: take it back to give it another slope."
	case len(p.Curve.Doc.Segments) > 0:
		p.NoUpdate = "It is a curve of several dilutions: another slope of one would leave the others behind. Make a new curve."
	default:
		p.Update = true
	}
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
