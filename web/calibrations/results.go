package calibrations

import (
	"context"
	"crypto/rand"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/science/curve"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

func resultPath(r calibrations.Result) string {
	return Path(r.Curve) + "/results/" + render.ID(r.ID)
}

// resultLine is a kept result as pages show it: what was said then, and beside
// it what the version in use says of the same signals.
type resultLine struct {
	calibrations.Result
	Path  string
	Words string // what was kept: Est and Span
	Est   string
	Span  string
	Mark  template.HTML
	Now   string // what the version in use says; empty where that made it, or nothing is in use
	Moved string // by how much that differs
}

// resultLines words results beside the version in use; axis stands under their
// marks.
func resultLines(list []calibrations.Result, inUse *curveLine) (out []resultLine, axis template.HTML) {
	out = make([]resultLine, len(list))
	bars := make([][]chart.Bar, len(list))
	var ends []float64
	for i, r := range list {
		out[i] = resultLine{Result: r, Path: resultPath(r), Words: resultWords(r.Outcome)}
		out[i].Est, out[i].Span = resultParts(r.Outcome)
		bars[i] = []chart.Bar{resultBar(r.Outcome)}
		if inUse != nil && inUse.VersionID != r.VersionID && inUse.Fitted() && r.Stands() {
			now, err := calibrations.ReExpress(r, inUse.Curve, inUse.Doc)
			if err != nil {
				out[i].Now = err.Error()
			} else {
				out[i].Now, out[i].Moved = resultWords(now), movedWords(r.Outcome, now)
				bars[i] = append(bars[i], resultBar(now))
			}
		}
		for _, b := range bars[i] {
			ends = append(ends, b.Low, b.High)
		}
	}
	scale := chart.ScaleFor(slices.DeleteFunc(ends, func(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) })...)
	for i := range out {
		for k, b := range bars[i] {
			row := chart.Row{ID: "r" + render.ID(out[i].ID) + "-" + strconv.Itoa(k), Bars: []chart.Bar{b}, Scale: &scale}
			out[i].Mark += template.HTML(row.SVG())
		}
	}
	return out, template.HTML(chart.Row{Scale: &scale}.Axis(false))
}

// resultBar is a result as an interval; what has no end on a side is open there.
func resultBar(r curve.Result) chart.Bar {
	b := chart.Bar{Low: r.Low, High: r.High, Notch: r.Level}
	if math.IsNaN(b.Low) && !math.IsNaN(b.High) {
		b.Low = math.Inf(-1)
	}
	if math.IsNaN(b.High) && !math.IsNaN(b.Low) {
		b.High = math.Inf(1)
	}
	return b
}

// movedWords says how far a result would move, with the digits of the old one.
func movedWords(old, now curve.Result) string {
	if math.IsNaN(old.Level) || math.IsNaN(now.Level) {
		return ""
	}
	moved := unit.Signed(now.Level-old.Level, old.U)
	if strings.Trim(moved, "−0.") == "" {
		return "less than a digit apart"
	}
	return moved
}

// listResults puts a page of the curve's results beside what the version in use
// says of them.
func (s *Pages) listResults(r *http.Request, p *curvePage) error {
	before := max(0, form.ID(r.URL.Query().Get("before")))
	list, more, err := s.Bench.Results(r.Context(), page.WhoIs(r), calibrations.ResultFilter{Curve: p.Curve.ID, Before: before})
	if err != nil {
		return err
	}
	p.Results, p.Axis = resultLines(list, p.InUse)
	if more {
		p.Older = list[len(list)-1].ID
	}
	return nil
}

// resultPage is a result with its story: all that it corrects, all that corrects it.
type resultPage struct {
	Curve  curveLine
	One    resultLine
	Story  []resultLine // oldest first
	Axis   template.HTML
	InUse  *curveLine
	Change *form.Form
	Back   *form.Form
	Key    string // of a correction or withdrawal
}

func (s *Pages) result(w http.ResponseWriter, r *http.Request) {
	s.showResult(w, r, http.StatusOK, nil, &form.Form{})
}

// showResult shows a result; change is a correction that was refused.
func (s *Pages) showResult(w http.ResponseWriter, r *http.Request, status int, change, back *form.Form) {
	p, err := s.resultOf(r.Context(), page.WhoIs(r), form.PathID(r, "id"), form.PathID(r, "result"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Change, p.Back, p.Key = change, back, rand.Text()
	if p.Change == nil {
		p.Change = resultForm(p.One.Result)
	}
	s.Show(w, r, status, "curve-result", page.Frame{Title: p.One.Water + ": " + p.One.Words, Part: "calibrations", Page: p})
}

func (s *Pages) resultOf(ctx context.Context, by knownwater.Who, id, result int64) (p resultPage, err error) {
	story, err := s.Bench.ResultStory(ctx, by, result)
	if err != nil {
		return p, err
	}
	if story[0].Curve != id {
		return p, &knownwater.Refusal{Kind: knownwater.NotFound, Words: "that is a result of another curve"}
	}
	versions, err := s.Bench.CurveVersions(ctx, id)
	if err != nil {
		return p, err
	}
	for _, v := range versions {
		if v.InUse {
			l := s.lineOf(v)
			p.InUse = &l
		}
		if v.VersionID == story[0].VersionID {
			p.Curve = curveLine{Curve: v}
		}
	}
	p.Story, p.Axis = resultLines(story, p.InUse)
	for _, l := range p.Story {
		if l.ID == result {
			p.One = l
		}
	}
	return p, nil
}

// resultForm puts a result into its form.
func resultForm(r calibrations.Result) *form.Form {
	f := &form.Form{Values: map[string][]string{}}
	for name, v := range map[string]string{"water": r.Water, "signals": r.Text, "own_colour": signalsText(r.Sample.Own), "clear": signalsText(r.Sample.Clear), "u_dilution": form.Shown(100 * r.Sample.UDilution), "u_lot": form.Shown(100 * r.Sample.ULot),
		"taken_at": r.TakenAt.Local().Format(form.BrowserTime), "note": r.Note} {
		f.Set(name, v)
	}
	if r.Sample.Dilution != 1 {
		f.Set("dilution", form.Shown(r.Sample.Dilution))
	}
	return f
}

// signalsText are signals as they are typed.
func signalsText(signals []float64) string {
	var texts []string
	for _, v := range signals {
		texts = append(texts, strconv.FormatFloat(v, 'g', -1, 64))
	}
	return strings.Join(texts, " ")
}

// changeResult corrects a result or takes it back, with a reason. The old row stays.
func (s *Pages) changeResult(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if _, err := s.resultOf(r.Context(), page.WhoIs(r), form.PathID(r, "id"), form.PathID(r, "result")); err != nil {
		s.Fail(w, r, err)
		return
	}
	var next calibrations.Result
	back := f.Get("do") == "withdraw"
	if back {
		next, err = s.Bench.WithdrawResult(r.Context(), page.WhoIs(r), form.PathID(r, "result"), f.Text("key"), f.Get("why"))
	} else {
		n := readResult(f)
		n.Program = s.Options.Version
		if !f.Bad() {
			next, err = s.Bench.CorrectResult(r.Context(), page.WhoIs(r), form.PathID(r, "result"), n, f.Get("why"))
		}
	}
	if f.Refused(err) {
		if back {
			s.showResult(w, r, http.StatusUnprocessableEntity, nil, f)
		} else {
			s.showResult(w, r, http.StatusUnprocessableEntity, f, &form.Form{})
		}
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, map[bool]string{true: "Withdrawn, with your reason.", false: "Corrected. The first value stays in sight, with your reason."}[back])
	http.Redirect(w, r, resultPath(next), http.StatusSeeOther)
}
