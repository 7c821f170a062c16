package calibrations

import (
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/science/curve"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// recheckKnowns is how many knowns the form takes.
const recheckKnowns = 4

// recheckPage asks whether a version of a curve still holds.
type recheckPage struct {
	Curve      curveLine
	Form       *form.Form
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
	Kept       []calibrations.KeptRecheck
	Loose      knownwater.Faults

	in *wording.Language
}

// recheckCurve is asked with the signals in the address: nothing is kept.
func (s *Pages) recheckCurve(w http.ResponseWriter, r *http.Request) {
	c, err := s.versionOf(r, true)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f := &form.Form{Values: r.URL.Query()}
	if f.Text("margin") == "" {
		f.Set("margin", "5")
	}
	p := s.newRecheckPage(r, c, f)
	status := http.StatusOK
	if f.Values.Has("blank") && p.Curve.Fitted() {
		if p.judge(readRecheck(f)); f.Bad() {
			status = http.StatusUnprocessableEntity
		}
	}
	s.showRecheck(w, r, status, p)
}

// keepRecheck keeps what was judged, and makes the next version of it where that was
// asked for.
func (s *Pages) keepRecheck(w http.ResponseWriter, r *http.Request) {
	f, c, ok := s.versionForm(w, r)
	if !ok {
		return
	}
	seen := readRecheck(f)
	var now calibrations.Curve
	var err error
	if !f.Bad() {
		now, err = s.Bench.KeepRecheck(r.Context(), page.WhoIs(r), c.VersionID, seen, f.Ticked("update"), f.Get("why"), s.Options.Version)
	}
	if faultsInRows(f, err) || f.Bad() {
		p := s.newRecheckPage(r, c, f)
		p.judge(seen)
		s.showRecheck(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if !f.Ticked("update") {
		s.Tell(r, "The re-check is kept.")
		http.Redirect(w, r, Path(c.ID)+"/recheck?version="+render.ID(c.VersionID)+"#kept", http.StatusSeeOther)
		return
	}
	s.Tell(r, "Kept as version {1}, with its re-check. The version before stands as it was; look at this one, then take it into use.", render.ID(int64(now.Version)))
	http.Redirect(w, r, Path(now.ID), http.StatusSeeOther)
}

func (s *Pages) newRecheckPage(r *http.Request, c calibrations.Curve, f *form.Form) recheckPage {
	p := recheckPage{Curve: s.lineOf(s.ReaderOn(r, "curve-recheck").Language, c), Form: f, in: s.ReaderOn(r, "curve-recheck").Language}
	p.Dilution = calibrations.RecheckDilution(p.Curve.Doc)
	for i := range recheckKnowns {
		p.Rows = append(p.Rows, i+1)
	}
	return p
}

func (s *Pages) showRecheck(w http.ResponseWriter, r *http.Request, status int, p recheckPage) {
	var err error
	if p.Kept, err = s.Bench.Rechecks(r.Context(), p.Curve.ID); err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Loose = p.Form.Loose(p.fields()...)
	s.Show(w, r, status, "curve-recheck", page.Frame{Heading: "Does it still hold? {1}", Of: []string{p.Curve.Spec.Name}, Part: "calibrations", Page: p})
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

// readRecheck reads what was typed; a row of which nothing is typed is none.
func readRecheck(f *form.Form) calibrations.Recheck {
	r := calibrations.Recheck{Blank: readSignals(f, "blank"), Margin: f.Number("margin", form.WantNumber) / 100}
	for i := range recheckKnowns {
		n := strconv.Itoa(i + 1)
		if f.Text("level_"+n) == "" && f.Text("u_"+n) == "" && f.Text("signals_"+n) == "" {
			continue
		}
		r.Knowns = append(r.Knowns, calibrations.RecheckKnown{Level: f.Number("level_"+n, form.WantNumber), ULevel: f.Number("u_"+n, form.WantNumber), Signals: readSignals(f, "signals_"+n)})
	}
	return r
}

// recheckWords are the signals of a re-check on one line.
func recheckWords(r calibrations.Recheck) string {
	list := func(signals []float64) string {
		var out []string
		for _, v := range signals {
			out = append(out, render.Number(v))
		}
		return strings.Join(out, " ")
	}
	words := "0: " + list(r.Blank)
	for _, k := range r.Knowns {
		words += "; " + render.Number(k.Level)
		if k.ULevel > 0 {
			words += " ± " + render.Number(k.ULevel)
		}
		words += ": " + list(k.Signals)
	}
	return words
}

// readSignals reads numbers with spaces or semicolons between.
func readSignals(f *form.Form, name string) (out []float64) {
	for _, text := range strings.Fields(strings.ReplaceAll(f.Get(name), ";", " ")) {
		v, err := form.ParseNumber(text)
		if err != nil {
			f.Reject(name, "“%s” is no number", "signals with spaces between: 0.273 0.275", text)
			continue
		}
		out = append(out, v)
	}
	return out
}

// faultsInRows puts faults of a re-check beside the fields of the known they speak of.
func faultsInRows(f *form.Form, err error) bool {
	faults := form.FaultsOf(err)
	ok := faults != nil
	if !ok {
		return false
	}
	var filled []string
	for i := range recheckKnowns {
		n := strconv.Itoa(i + 1)
		if f.Text("level_"+n) != "" || f.Text("u_"+n) != "" || f.Text("signals_"+n) != "" {
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
		if f.Wrong(x.Column) == nil { // a text that is no number was said already
			f.AddFault(x)
		}
	}
	return true
}

func (p *recheckPage) judge(r calibrations.Recheck) {
	result, err := r.Against(p.Curve.Doc)
	if p.Form.Wrong("why") == nil && p.Form.Wrong("update") == nil { // else it is judged, and only not kept
		if faultsInRows(p.Form, err); p.Form.Bad() {
			return
		}
	}
	if err != nil {
		return
	}
	p.Result = &result
	p.keeping(result)
	p.Verdict = p.in.Say(map[string]string{
		curve.Holds: wording.Key("It holds."), curve.UpdateSlope: wording.Key("It no longer holds; a slope update is enough."),
		curve.NewCurve: wording.Key("It no longer holds; make a new curve."), curve.Undecided: wording.Key("Undecided.")}[result.Verdict])
	p.Class = map[string]string{curve.Holds: "within", curve.Undecided: "undecided"}[result.Verdict]
	if p.Class == "" {
		p.Class = "outside"
	}
	p.Slope, p.SlopeAxis = shiftMark("slope", p.in.Say("change of slope"), result.SlopeLow-1, result.Slope-1, result.SlopeHigh-1, r.Margin)
	stands := result.BlankLow <= 0 && 0 <= result.BlankHigh
	p.BlankWords = p.in.Say(map[bool]string{true: wording.Key("{1}: it stands"), false: wording.Key("{1}: it has moved")}[stands], render.SignedLimits(result.BlankLow, result.BlankHigh))
	p.Blank, p.BlankAxis = knownRow(p.in, "blank", p.in.Say("blank’s signal less the curve’s"), result.BlankLow, result.Blank, result.BlankHigh)
}

// keeping says what can be made of the re-check. The reason is proposed, to be
// put in one's own words.
func (p *recheckPage) keeping(result curve.Recheck) {
	if p.Form.Text("why") == "" && p.Form.Wrong("why") == nil {
		p.Form.Set("why", p.in.Say("Re-check of version {1}: {2}.", strconv.Itoa(p.Curve.Version), result.Verdict))
	}
	switch {
	case result.Verdict != curve.UpdateSlope:
	case !p.Curve.Latest:
		p.NoUpdate = p.in.Say("There is a newer version of this curve: re-check that one to give it another slope.")
	case p.Curve.Retired:
		p.NoUpdate = p.in.Say("The curve is put away: take it back to give it another slope.")
	case len(p.Curve.Doc.Segments) > 0:
		p.NoUpdate = p.in.Say("It is a curve of several dilutions: another slope of one would leave the others behind. Make a new curve.")
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
	return render.ShiftMark(id, what, low, mid, high, margin, v)
}
