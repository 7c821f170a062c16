package calibrations

import (
	"context"
	"crypto/rand"
	"html/template"
	"math"
	"net/http"
	"slices"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

func recordResultPath(r calibrations.Result) string {
	return recordPath(r.Record) + "/results/" + render.ID(r.ID)
}

// recordResult is a kept result of a record as pages show it: what was said then, and
// beside it what the version in use says of the same readings.
type recordResult struct {
	calibrations.Result
	Path  string
	Words string // what was kept
	Mark  template.HTML
	Now   string // what the version in use says; empty where that made it, or nothing is in use
	Moved string // by how much its estimate differs
}

// lines words results beside the version in use; axis stands under their marks.
func (s *Pages) lines(ctx context.Context, list []calibrations.Result, inUse *calibrations.Record) (out []recordResult, axis template.HTML) {
	out = make([]recordResult, len(list))
	marks := make([][][]chart.Bar, len(list))
	var ends []float64
	for i, r := range list {
		kept := r.Said()
		out[i] = recordResult{Result: r, Path: recordResultPath(r), Words: report.ReadingBrief(kept)}
		marks[i] = [][]chart.Bar{bars(kept.Result, chart.Plain)}
		ends = append(ends, kept.Result.Low, kept.Result.High, kept.Result.Estimate)
		if inUse == nil || inUse.VersionID == r.VersionID || !r.Stands() {
			continue
		}
		now, err := s.Bench.Say(ctx, *inUse, readingOf(r), nil)
		if err != nil {
			out[i].Now = err.Error()
			continue
		}
		out[i].Now, out[i].Moved = report.ReadingBrief(now), movedWords(r.Outcome, curve.Result{Level: now.Result.Estimate})
		marks[i] = append(marks[i], bars(now.Result, chart.Plain))
		ends = append(ends, now.Result.Low, now.Result.High, now.Result.Estimate)
	}
	scale := chart.ScaleFor(slices.DeleteFunc(ends, func(v float64) bool { return math.IsInf(v, 0) || math.IsNaN(v) })...)
	for i := range out {
		for k, b := range marks[i] {
			row := chart.Row{ID: "r" + render.ID(out[i].ID) + "-" + render.ID(int64(k)), Bars: b, Scale: &scale}
			out[i].Mark += template.HTML(row.SVG())
		}
	}
	return out, template.HTML(chart.Row{Scale: &scale}.Axis(false))
}

// readingOf is a kept result as it was typed.
func readingOf(r calibrations.Result) calibrations.NewResult {
	return calibrations.NewResult{Signals: r.Text, Reader: r.Reader, Lot: r.Lot, Dilution: r.Sample.Dilution, UDilution: r.Sample.UDilution}
}

// listRecordResults puts a page of the record's results beside what the version in use
// says of them.
func (s *Pages) listRecordResults(r *http.Request, p *recordPage) error {
	before := max(0, form.ID(r.URL.Query().Get("before")))
	list, more, err := s.Bench.Results(r.Context(), page.WhoIs(r), calibrations.ResultFilter{Record: p.Record.ID, Before: before})
	if err != nil {
		return err
	}
	p.Results, p.Axis = s.lines(r.Context(), list, p.InUse)
	if more {
		p.Older = list[len(list)-1].ID
	}
	return nil
}

// recordResultPage is a result with its story: all that it corrects, all that corrects
// it.
type recordResultPage struct {
	One    recordResult
	Says   string
	Notes  []string
	Story  []recordResult // oldest first
	Axis   template.HTML
	InUse  *calibrations.Record
	Change *form.Form
	Back   *form.Form
	Key    string // of a correction or withdrawal
	Unit   unit.Scale
}

func (s *Pages) recordResult(w http.ResponseWriter, r *http.Request) {
	s.showRecordResult(w, r, http.StatusOK, nil, &form.Form{})
}

// showRecordResult shows a result; change is a correction that was refused.
func (s *Pages) showRecordResult(w http.ResponseWriter, r *http.Request, status int, change, back *form.Form) {
	p, err := s.recordResultOf(r.Context(), page.WhoIs(r), form.PathID(r, "id"), form.PathID(r, "result"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Change, p.Back, p.Key = change, back, rand.Text()
	if p.Change == nil {
		p.Change = recordResultForm(p.One.Result)
	}
	s.Show(w, r, status, "record-result", page.Frame{Title: p.One.Water + ": " + p.One.Words, Part: "calibrations", Page: p})
}

func (s *Pages) recordResultOf(ctx context.Context, by knownwater.Who, id, result int64) (p recordResultPage, err error) {
	story, err := s.Bench.ResultStory(ctx, by, result)
	if err != nil {
		return p, err
	}
	if story[0].Record != id {
		return p, &knownwater.Refusal{Kind: knownwater.NotFound, Words: "that is a result of another record"}
	}
	versions, err := s.Bench.RecordVersions(ctx, id)
	if err != nil {
		return p, err
	}
	for i, v := range versions {
		if v.InUse {
			p.InUse = &versions[i]
		}
	}
	p.Story, p.Axis = s.lines(ctx, story, p.InUse)
	for _, l := range p.Story {
		if l.ID == result {
			p.One = l
		}
	}
	p.Says, p.Unit = report.ReadingSays(p.One.Result.Said()), p.One.Scale
	p.Notes = sayAll(p.One.Notes)
	return p, nil
}

func sayAll(notes []note.Note) []string { return report.SayAll(notes) }

// recordResultForm puts a result into its form.
func recordResultForm(r calibrations.Result) *form.Form {
	f := form.New("water", r.Water, "readings", r.Text, "reader", r.Reader, "lot", r.Lot, "u_dilution", form.Shown(100*r.Sample.UDilution),
		"taken_at", r.TakenAt.Local().Format(form.BrowserTime), "note", r.Note)
	if r.Sample.Dilution != 1 {
		f.Set("dilution", form.Shown(r.Sample.Dilution))
	}
	return f
}

// changeRecordResult corrects a result or takes it back, with a reason. The old row
// stays.
func (s *Pages) changeRecordResult(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if _, err := s.recordResultOf(r.Context(), page.WhoIs(r), form.PathID(r, "id"), form.PathID(r, "result")); err != nil {
		s.Fail(w, r, err)
		return
	}
	var next calibrations.Result
	back := f.Get("do") == "withdraw"
	if back {
		next, err = s.Bench.WithdrawResult(r.Context(), page.WhoIs(r), form.PathID(r, "result"), f.Text("key"), f.Get("why"))
	} else {
		n := calibrations.NewResult{Key: f.Text("key"), Water: f.Text("water"), Signals: f.Get("readings"), Reader: f.Text("reader"), Lot: f.Text("lot"), Program: s.Options.Version,
			Dilution: f.Number("dilution", "a factor such as 8"), UDilution: f.Number("u_dilution", form.ANumber) / 100, Note: f.Get("note"), TakenAt: f.LocalTime("taken_at")}
		if !f.Bad() {
			next, err = s.Bench.CorrectResult(r.Context(), page.WhoIs(r), form.PathID(r, "result"), n, f.Get("why"))
		}
	}
	if f.Refused(err) {
		if back {
			s.showRecordResult(w, r, http.StatusUnprocessableEntity, nil, f)
		} else {
			s.showRecordResult(w, r, http.StatusUnprocessableEntity, f, &form.Form{})
		}
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, map[bool]string{true: "Withdrawn, with your reason.", false: "Corrected. The first value stays in sight, with your reason."}[back])
	http.Redirect(w, r, recordResultPath(next), http.StatusSeeOther)
}
