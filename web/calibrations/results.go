package calibrations

import (
	"context"
	"crypto/rand"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/result"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// calibrationPath is the page of what made a result.
func calibrationPath(r calibrations.Result) string {
	if r.Record != 0 {
		return recordPath(r.Record)
	}
	return Path(r.Curve)
}

func resultPath(r calibrations.Result) string {
	return calibrationPath(r) + "/results/" + render.ID(r.ID)
}

// resultLine is a kept result as pages show it: what was said then, and beside
// it what the version in use says of the same readings.
type resultLine struct {
	calibrations.Result
	Path  string
	Words string // what was kept
	Mark  template.HTML
	Now   string // what the version in use says; empty where that made it, or nothing is in use
	Moved string // by how much its estimate differs
}

// told is what one version says of a sample.
type told struct {
	words string
	level float64
	bars  []chart.Bar
}

func toldByCurve(as render.Reader, r curve.Result) told {
	return told{resultWords(as.Language, r), r.Level, []chart.Bar{resultBar(r)}}
}

func toldByRecord(as render.Reader, o result.Outcome) told {
	return told{report.ReadingBrief(as.Language, o), o.Result.Estimate, report.Bars(o.Result, chart.Plain)}
}

// teller is a calibration as its results see it: what they said when they were kept, and
// what the version in use says now.
type teller struct {
	as        render.Reader
	version   int   // in use; 0: none
	versionID int64 // …
	kept      func(calibrations.Result) told
	now       func(calibrations.Result) (told, error)
}

// curveTeller tells by a curve; one that is not fitted says nothing now.
func curveTeller(as render.Reader, inUse *curveLine) teller {
	t := teller{as: as, kept: func(r calibrations.Result) told { return toldByCurve(as, r.Outcome) }}
	if inUse != nil && inUse.Fitted() {
		t.version, t.versionID = inUse.Version, inUse.VersionID
		t.now = func(r calibrations.Result) (told, error) {
			var err error
			r.Outcome, err = calibrations.ReExpress(r, inUse.Curve, inUse.Doc)
			return toldByCurve(as, as.Result(r).Outcome), err
		}
	}
	return t
}

func (s *Pages) recordTeller(ctx context.Context, as render.Reader, inUse *calibrations.Record) teller {
	t := teller{as: as, kept: func(r calibrations.Result) told { return toldByRecord(as, r.Said()) }}
	if inUse != nil {
		t.version, t.versionID = inUse.Version, inUse.VersionID
		t.now = func(r calibrations.Result) (told, error) {
			now, err := s.Bench.Say(ctx, *inUse, calibrations.NewResult{Signals: r.Text, Reader: r.Reader, Lot: r.Lot,
				Dilution: r.Sample.Dilution, UDilution: r.Sample.UDilution, Nitrite: r.Nitrite, UNitrite: r.UNitrite}, nil)
			return toldByRecord(as, as.Outcome(now)), err
		}
	}
	return t
}

// lines words results beside the version in use; axis stands under their marks.
func (t teller) lines(list []calibrations.Result) (out []resultLine, axis template.HTML) {
	out = make([]resultLine, len(list))
	marks := make([][][]chart.Bar, len(list))
	var ends []float64
	for i, r := range list {
		shown := t.as.Result(r)
		kept := t.kept(shown)
		out[i] = resultLine{Result: shown, Path: resultPath(r), Words: kept.words}
		marks[i] = [][]chart.Bar{kept.bars}
		if t.now != nil && t.versionID != r.VersionID && r.Stands() {
			if now, err := t.now(r); err != nil {
				out[i].Now = err.Error()
			} else {
				out[i].Now, out[i].Moved = now.words, movedWords(t.as, kept.level, now.level, shown.Outcome.U)
				marks[i] = append(marks[i], now.bars)
			}
		}
		for _, b := range slices.Concat(marks[i]...) {
			ends = append(ends, b.Low, b.High)
		}
	}
	scale := chart.ScaleFor(slices.DeleteFunc(ends, func(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) })...)
	for i := range out {
		for k, b := range marks[i] {
			row := chart.Row{ID: "r" + render.ID(out[i].ID) + "-" + strconv.Itoa(k), Bars: b, Scale: &scale}
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

// movedWords says how far an estimate would move, with the digits of the old one.
func movedWords(as render.Reader, old, now, u float64) string {
	if math.IsNaN(old) || math.IsNaN(now) {
		return ""
	}
	moved := unit.Signed(now-old, u)
	if strings.Trim(moved, "−0.") == "" {
		return as.Language.Say("less than a digit apart")
	}
	return moved
}

// resultList is a page of a calibration's results.
type resultList struct {
	Results []resultLine
	Axis    template.HTML // under their marks
	Of      string        // page of the calibration
	Version int           // in use; 0: none
	Older   int64         // the next page begins below this; 0: there is none
}

// listResults puts a page of results beside what the version in use says of them.
func (s *Pages) listResults(r *http.Request, of calibrations.ResultFilter, t teller) (l resultList, err error) {
	of.Before = max(0, form.ID(r.URL.Query().Get("before")))
	list, more, err := s.Bench.Results(r.Context(), page.WhoIs(r), of)
	if err != nil {
		return l, err
	}
	l.Results, l.Axis = t.lines(list)
	l.Version = t.version
	if len(list) > 0 {
		l.Of = calibrationPath(list[0])
	}
	if more {
		l.Older = list[len(list)-1].ID
	}
	return l, nil
}

// resultPage is a result with its story: all that it corrects, all that corrects it.
type resultPage struct {
	One     resultLine
	Head    string // what it says, with its unit
	Says    string // … in a sentence
	Notes   []string
	Of      string       // page of the calibration
	Version int          // in use; 0: none
	Story   []resultLine // oldest first
	Axis    template.HTML
	ReadIn  string // the unit of readings, where results are shown in another one
	Light   bool   // the curve counts light that went through, so that the water may have a colour of its own
	Change  *form.Form
	Back    *form.Form
	Key     string // of a correction or withdrawal
}

func (s *Pages) result(w http.ResponseWriter, r *http.Request) {
	s.showResult(w, r, http.StatusOK, nil, &form.Form{})
}

// showResult shows a result; change is a correction that was refused.
func (s *Pages) showResult(w http.ResponseWriter, r *http.Request, status int, change, back *form.Form) {
	p, err := s.resultOf(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Change, p.Back, p.Key = change, back, rand.Text()
	if p.Change == nil {
		p.Change = resultForm(p.One.Result)
	}
	s.Show(w, r, status, "result", page.Frame{Title: p.One.Water + ": " + p.One.Words, Part: "calibrations", Page: p})
}

// resultOf is the result that a request is about, which names what made it, too.
func (s *Pages) resultOf(r *http.Request) (p resultPage, err error) {
	ctx, as, id := r.Context(), s.ReaderOn(r, "result"), form.PathID(r, "result")
	story, err := s.Bench.ResultStory(ctx, page.WhoIs(r), id)
	if err != nil {
		return p, err
	}
	if p.Of = calibrationPath(story[0]); story[0].Record != 0 {
		p.ReadIn = as.ReadIn(story[0].Scale)
	}
	if !strings.HasPrefix(r.URL.Path, p.Of+"/") {
		return p, &knownwater.Refusal{Kind: knownwater.NotFound, Words: "that is a result of something else"}
	}
	var t teller
	if story[0].Record != 0 {
		t, err = s.tellerOfRecord(ctx, as, story[0].Record)
	} else {
		t, p.Light, err = s.tellerOfCurve(ctx, as, story[0])
	}
	if err != nil {
		return p, err
	}
	p.Version = t.version
	p.Story, p.Axis = t.lines(story)
	for _, l := range p.Story {
		if l.ID == id {
			p.One = l
		}
	}
	one := p.One.Result
	p.Head, p.Says, p.Notes = p.One.Words, report.ReadingSays(as.Language, one.Said()), report.SayAllIn(as.Language, one.Notes)
	if one.Record == 0 {
		est, span := resultParts(as.Language, one.Outcome)
		if p.Head, p.Says = render.WithUnit(est, one.Scale), ""; span != "" {
			p.Says = fmt.Sprintf("95 %%: %s.", span)
		}
	}
	return p, nil
}

func (s *Pages) tellerOfRecord(ctx context.Context, as render.Reader, id int64) (teller, error) {
	versions, err := s.Bench.RecordVersions(ctx, id)
	i := slices.IndexFunc(versions, func(v calibrations.Record) bool { return v.InUse })
	if err != nil || i < 0 {
		return s.recordTeller(ctx, as, nil), err
	}
	return s.recordTeller(ctx, as, &versions[i]), nil
}

// tellerOfCurve also says whether the version that made a result counts light.
func (s *Pages) tellerOfCurve(ctx context.Context, as render.Reader, made calibrations.Result) (t teller, light bool, err error) {
	versions, err := s.Bench.CurveVersions(ctx, made.Curve)
	t = curveTeller(as, nil)
	for _, v := range versions {
		if v.InUse {
			l := s.lineOf(as.Language, v)
			t = curveTeller(as, &l)
		}
		light = light || v.VersionID == made.VersionID && v.Spec.Conversion.Kind.Light()
	}
	return t, light, err
}

// resultForm puts a result into its form.
func resultForm(r calibrations.Result) *form.Form {
	f := form.New("water", r.Water, "u_dilution", form.Shown(100*r.Sample.UDilution), "taken_at", r.TakenAt.Local().Format(form.BrowserTime), "note", r.Note)
	if r.Sample.Dilution != 1 {
		f.Set("dilution", form.Shown(r.Sample.Dilution))
	}
	if r.Nitrite != nil {
		f.Set("nitrite", form.Exactly(*r.Nitrite))
		f.Set("u_nitrite", form.Shown(r.UNitrite))
	}
	more := map[string]string{"readings": r.Text, "reader": r.Reader, "lot": r.Lot}
	if r.Record == 0 {
		more = map[string]string{"signals": r.Text, "own_colour": signalsText(r.Sample.Own), "clear": signalsText(r.Sample.Clear), "u_lot": form.Shown(100 * r.Sample.ULot)}
	}
	for name, v := range more {
		f.Set(name, v)
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

// correctionOf is a correction as it was typed.
func correctionOf(f *form.Form, of calibrations.Result) calibrations.NewResult {
	if of.Record == 0 {
		return readResult(f)
	}
	n := calibrations.NewResult{Key: f.Text("key"), Water: f.Text("water"), Signals: f.Get("readings"), Reader: f.Text("reader"), Lot: f.Text("lot"),
		Dilution: f.Number("dilution", "a factor such as 8"), UDilution: f.Number("u_dilution", form.WantNumber) / 100, Note: f.Get("note"), TakenAt: f.LocalTime("taken_at"), UNitrite: f.Number("u_nitrite", form.WantNumber)}
	if v := f.Number("nitrite", form.WantNumber); f.Text("nitrite") != "" {
		n.Nitrite = &v
	}
	return n
}

// changeResult corrects a result or takes it back, with a reason. The old row stays.
func (s *Pages) changeResult(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f.Points(page.Reader(r).Comma(), "readings")
	p, err := s.resultOf(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var next calibrations.Result
	back := f.Get("do") == "withdraw"
	if back {
		next, err = s.Bench.WithdrawResult(r.Context(), page.WhoIs(r), p.One.ID, f.Text("key"), f.Get("why"))
	} else {
		n := correctionOf(f, p.One.Result)
		n.Program = s.Options.Version
		if !f.Bad() {
			next, err = s.Bench.CorrectResult(r.Context(), page.WhoIs(r), p.One.ID, n, f.Get("why"))
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
