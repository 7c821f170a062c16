package waters

import (
	"context"
	"html/template"
	"net/http"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/result"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// cardPage is the counter card of a method: every step and what it says.
type cardPage struct {
	Method  string
	Scale   string
	Readers []string
	Tables  []cardTable
	Scope   []string // in which water, from how many readings, by which record
	Caution string
	Prints  string // fingerprint of what it is computed from
	Back    string
	File    string // the card for another machine
}

type cardTable struct {
	Title string
	Rows  []cardRow // up is more
	Axis  template.HTML
}

type cardRow struct {
	Step     string
	Colours  []string
	Anybody  string
	Mark     template.HTML
	ByReader []string
}

// cardsOf are the cards of a record that is in use, or of its last version: undiluted, and
// diluted as the method's sheet says.
func (s *Pages) cardsOf(ctx context.Context, id int64) (rec calibrations.Record, cards []calibrations.Card, err error) {
	versions, err := s.Bench.RecordVersions(ctx, id)
	if err != nil {
		return rec, nil, err
	}
	if len(versions) == 0 {
		return rec, nil, &knownwater.Refusal{Kind: knownwater.NotFound, Words: "there is no such record"}
	}
	rec = versions[0]
	for _, v := range versions {
		if v.InUse {
			rec = v
		}
	}
	m, err := s.Bench.MethodVersion(ctx, rec.Spec.Version)
	if err != nil {
		return rec, nil, err
	}
	dilutions := []float64{1}
	if m.Spec.Dilution.Over > 0 && m.Spec.Dilution.By() > 1 {
		dilutions = append(dilutions, m.Spec.Dilution.By())
	}
	for _, d := range dilutions {
		c, err := s.Bench.CardOf(ctx, rec, d)
		if err != nil {
			return rec, nil, err
		}
		cards = append(cards, c)
	}
	return rec, cards, nil
}

func (s *Pages) card(w http.ResponseWriter, r *http.Request) {
	ctx := r.Context()
	rec, cards, err := s.cardsOf(ctx, form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	m, err := s.Bench.MethodVersion(ctx, rec.Spec.Version)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	watched, err := s.Bench.Watch(ctx)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := cardPage{Method: rec.Spec.Method, Scale: strings.TrimSpace(rec.Spec.Scale.String()), Caution: m.Spec.Caution, Prints: short(rec.Spec.Inputs), Back: "/records/" + render.ID(rec.ID),
		File: "/cards/" + render.ID(rec.ID) + "/card.json", Scope: scopeOf(rec, cards[0].Lots, watched), Readers: cards[0].Readers}
	for i, c := range cards {
		p.Tables = append(p.Tables, tableOf(i, c, render.PadOf(m.Spec), needFor(calibrations.Result{Scale: rec.Spec.Scale}, standing(needs))))
	}
	s.Show(w, r, http.StatusOK, "card", page.Frame{Title: p.Method + ": what each step says", Part: "waters", Page: p})
}

func standing(needs []knownwater.NeedEntry) (out []knownwater.NeedEntry) {
	for _, n := range needs {
		if !n.Retired {
			out = append(out, n)
		}
	}
	return out
}

// short is enough of a fingerprint to compare by eye.
func short(digest string) string {
	if len(digest) > 16 {
		return digest[:8] + " " + digest[8:16]
	}
	return digest
}

func scopeOf(rec calibrations.Record, lots []string, watched []bench.Watched) []string {
	water := rec.Spec.Matrix
	if water == "" {
		water = "the water of the trial’s knowns"
	}
	checked := "No check stands behind it yet."
	var last time.Time
	for _, w := range watched {
		if at := w.Entries[len(w.Entries)-1].At; w.Record == rec.ID && at.After(last) {
			last = at
			checked = "Last check of " + render.TwoDigits(w.Known) + lotNamed(w.Lot) + " on " + at.Local().Format("2 January 2006") + ": " + string(w.Chart.State) + "."
		}
	}
	tried := ""
	if len(lots) > 0 {
		tried = " with lot " + strings.Join(lots, ", ")
	}
	return []string{
		"Good for " + water + " and the way of testing of the trial “" + rec.Spec.Title + "”" + tried + ", from " + render.Count(rec.Spec.Readings, "reading") + ", record version " + render.ID(int64(rec.Version)) + " of " + rec.Made.At.Local().Format("2 January 2006") + ".",
		checked,
		"It ends with a new lot, until side-by-side vials or a check say that it reads alike, and when a check says that the method has moved.",
	}
}

func lotNamed(lot string) string {
	if lot == "" {
		return ""
	}
	return " with lot " + lot
}

func tableOf(i int, c calibrations.Card, pad render.Pad, need *chart.Stretch) (t cardTable) {
	if c.Dilution != 1 {
		t.Title = "diluted by " + render.Number(c.Dilution) + ": what the card says of the undiluted water"
	} else {
		t.Title = "undiluted"
	}
	var levels []float64
	for _, r := range c.Rows {
		for _, v := range []float64{r.Anybody.Result.Low, r.Anybody.Result.High, r.Anybody.Result.Estimate} {
			if v >= 0 && v < 1e12 {
				levels = append(levels, v)
			}
		}
	}
	if need != nil {
		levels = append(levels, need.Low, need.High)
	}
	scale := chart.ScaleFor(levels...)
	for k := len(c.Rows) - 1; k >= 0; k-- {
		r := c.Rows[k]
		row := cardRow{Step: r.Text, Anybody: brief(r.Anybody)}
		for _, target := range pad.Targets {
			if target.Text == r.Text && strings.Join(target.Colours, "") != "" {
				row.Colours = target.Colours
			}
		}
		fig := chart.Row{ID: "card-" + render.ID(int64(i)) + "-" + render.ID(int64(k)), Bars: report.Bars(r.Anybody.Result, chart.Plain), Scale: &scale, Need: need, Slim: true}
		row.Mark = template.HTML(fig.SVG())
		for _, o := range r.ByReader {
			row.ByReader = append(row.ByReader, brief(o))
		}
		t.Rows = append(t.Rows, row)
	}
	t.Axis = template.HTML(chart.Row{Scale: &scale}.Axis(false))
	return t
}

// brief is an interval without its unit, which stands on the card once.
func brief(o result.Outcome) string {
	o.Scale.Unit, o.Scale.Basis = "", ""
	o.Scale.Analyte = ""
	return strings.TrimSpace(report.ReadingBrief(o))
}
