package waters

import (
	"context"
	"html/template"
	"net/http"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/control"
	"knownwater/science/result"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// cardPage is the counter card of a method: every step and what it says.
type cardPage struct {
	Method  string
	Scale   string
	ReadIn  string // the unit of the steps, where it is another one
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
	as := s.ReaderOn(r, "card")
	p := cardPage{Method: rec.Spec.Method, Scale: strings.TrimSpace(as.Units.Turn(rec.Spec.Scale).To.String()), Caution: m.Spec.Caution, Prints: short(rec.Spec.Inputs), Back: "/records/" + render.ID(rec.ID),
		File: "/cards/" + render.ID(rec.ID) + "/card.json", Scope: scopeOf(as, rec, cards[0], watched), Readers: cards[0].Readers}
	p.ReadIn = as.ReadIn(rec.Spec.Scale)
	for i, c := range cards {
		p.Tables = append(p.Tables, tableOf(as, i, c, as.Pad(m.Spec), needFor(calibrations.Result{Scale: as.Units.Turn(rec.Spec.Scale).To}, as.Needs(standing(needs)))))
	}
	s.Show(w, r, http.StatusOK, "card", page.Frame{Title: as.Language.Say("{1}: what each step says", p.Method), Part: "waters", Page: p})
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

func scopeOf(as render.Reader, rec calibrations.Record, card calibrations.Card, watched []bench.Watched) []string {
	l := as.Language
	water := rec.Spec.Matrix
	if water == "" {
		water = l.Say("the water of the trial’s knowns")
	}
	checked := l.Say("No check stands behind it yet.")
	var last time.Time
	for _, w := range watched {
		if at := w.Entries[len(w.Entries)-1].At; w.Record == rec.ID && at.After(last) {
			last = at
			checked = l.Say(lastCheck[w.Now().Chart.State], render.TwoDigits(w.Known)+lotNamed(as, w.Lot), as.Day(at))
		}
	}
	tried := ""
	if len(card.Lots) > 0 {
		tried = lotNamed(as, strings.Join(card.Lots, ", "))
	}
	scope := []string{
		l.Say("Good for {1} and the way of testing of the trial “{2}”{3}, from {4}, record version {5} of {6}.",
			water, rec.Spec.Title, tried, as.Count(rec.Spec.Readings, "reading"), render.ID(int64(rec.Version)), as.Day(rec.Made.At)),
		checked,
		l.Say("It ends with a new lot, until side-by-side vials or a check say that it reads alike, and when a check says that the method has moved."),
	}
	if n := card.Nitrite; n != nil && n.N > 0 {
		turn := as.Units.Turn(rec.Spec.Scale)
		scope = append(scope, l.Say("It reads 1 mg/L of nitrite (NO2) as {1} {4} more ({2} to {3}): the card takes none for granted. Where the water holds some, state it with the reading.",
			render.TwoDigits(turn.K*float64(n.Factor)), render.TwoDigits(turn.K*float64(n.Low)), render.TwoDigits(turn.K*float64(n.High)), strings.TrimSpace(turn.To.String())))
	}
	return scope
}

var lastCheck = map[control.State]string{
	control.Holds:     wording.Key("Last check of {1} on {2}: holds."),
	control.Moved:     wording.Key("Last check of {1} on {2}: moved."),
	control.Undecided: wording.Key("Last check of {1} on {2}: undecided."),
}

func lotNamed(as render.Reader, lot string) string {
	if lot == "" {
		return ""
	}
	return " " + as.Language.Say("with lot {1}", lot)
}

func tableOf(as render.Reader, i int, c calibrations.Card, pad render.Pad, need *chart.Stretch) (t cardTable) {
	if c.Dilution != 1 {
		t.Title = as.Language.Say("diluted by {1}: what the card says of the undiluted water", render.Number(c.Dilution))
	} else {
		t.Title = as.Language.Say("undiluted")
	}
	c.Rows = slices.Clone(c.Rows) // they are remembered as they are
	var levels []float64
	for i := range c.Rows {
		r := &c.Rows[i]
		r.Anybody = as.Outcome(r.Anybody)
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
		row := cardRow{Step: r.Text, Anybody: brief(as, r.Anybody)}
		for _, target := range pad.Targets {
			if target.Text == r.Text && strings.Join(target.Colours, "") != "" {
				row.Colours = target.Colours
			}
		}
		fig := chart.Row{ID: "card-" + render.ID(int64(i)) + "-" + render.ID(int64(k)), Bars: report.Bars(r.Anybody.Result, chart.Plain), Scale: &scale, Need: need, Slim: true}
		row.Mark = template.HTML(fig.SVG())
		for _, o := range r.ByReader {
			row.ByReader = append(row.ByReader, brief(as, as.Outcome(o)))
		}
		t.Rows = append(t.Rows, row)
	}
	t.Axis = template.HTML(chart.Row{Scale: &scale}.Axis(false))
	return t
}

// brief is an interval without its unit, which stands on the card once.
func brief(as render.Reader, o result.Outcome) string {
	o.Scale.Unit, o.Scale.Basis = "", ""
	o.Scale.Analyte = ""
	return strings.TrimSpace(report.ReadingBrief(as.Language, o))
}
