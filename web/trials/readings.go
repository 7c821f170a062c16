package trials

import (
	"context"
	"html/template"
	"net/http"
	"net/url"
	"strconv"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// readingsPage is the readings behind a number, or all of a trial.
type readingsPage struct {
	Trial  trials.Trial
	Rows   []readingRow
	Blind  bool         // the key is shut: no level is shown
	Behind string       // what number they stand behind
	More   template.URL // query of the next page
	Back   string
}

const rowsAPage = 200

func (s *Pages) readings(w http.ResponseWriter, r *http.Request) {
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	t, err := s.Bench.Trial(ctx, by, id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	q := r.URL.Query()
	filter, behind := readFilter(s.ReaderOn(r, "readings").Language, q)
	p := readingsPage{Trial: t, Behind: behind, Blind: t.State == trials.Running || t.State == trials.SealedUp}
	rows, err := s.someReadings(ctx, by, t, filter)
	if err == nil {
		p.Rows, err = s.withReasons(ctx, by, t, rows)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if len(p.Rows) == rowsAPage {
		q.Set("after", render.ID(p.Rows[len(p.Rows)-1].ID))
		p.More = template.URL(q.Encode())
	}
	s.Show(w, r, http.StatusOK, "readings", page.Frame{Heading: "Readings: {1}", Of: []string{t.Plan.Title}, Part: "trials", Page: p})
}

func (s *Pages) someReadings(ctx context.Context, by knownwater.Who, t trials.Trial, f trials.ReadingFilter) ([]trials.Reading, error) {
	if t.State == trials.Running || t.State == trials.SealedUp {
		return s.Bench.SealedReadings(ctx, by, t.ID, f)
	}
	return s.Bench.Readings(ctx, by, t.ID, f)
}

// readFilter reads which readings are wanted, and says it in words.
func readFilter(in *wording.Language, q url.Values) (trials.ReadingFilter, string) {
	f := trials.ReadingFilter{Method: q.Get("method"), Text: q.Get("text"), Excluded: q.Has("excluded"), Flagged: q.Has("flagged"), All: q.Has("all"), Limit: rowsAPage}
	words := f.Method
	if d, err := strconv.ParseFloat(q.Get("dilution"), 64); err == nil {
		f.Dilution = d
		if d > 1 {
			words += ", " + in.Say("diluted ×{1}", render.Number(d))
		}
	}
	if l, err := strconv.ParseFloat(q.Get("level"), 64); err == nil {
		f.Level = &l
		words += ", " + in.Say("at {1}", render.Number(l))
	}
	if q.Has("technique") {
		t := q.Get("technique")
		f.Technique = &t
		words += ", " + t
	}
	if f.Text != "" {
		words += ", " + in.Say("read as {1}", f.Text)
	}
	if f.Excluded {
		words += ", " + in.Say("those left out")
	}
	if f.Flagged {
		words += ", " + in.Say("those with a flag")
	}
	f.Reader, _ = strconv.ParseInt(q.Get("reader"), 10, 64)
	f.Vial, _ = strconv.ParseInt(q.Get("vial"), 10, 64)
	f.After, _ = strconv.ParseInt(q.Get("after"), 10, 64)
	f.Session, _ = strconv.Atoi(q.Get("session"))
	return f, words
}

// readingPage is one reading with its story, and the form to leave it out.
type readingPage struct {
	Trial trials.Trial
	One   trials.Reading
	Story []readingRow // the reading and what it corrects or was corrected by
	Blind bool
	Form  *form.Form
}

func (s *Pages) reading(w http.ResponseWriter, r *http.Request) {
	s.showReading(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showReading(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	ctx, by := r.Context(), page.WhoIs(r)
	t, err := s.Bench.Trial(ctx, by, form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	id := form.PathID(r, "reading")
	story, err := s.someReadings(ctx, by, t, trials.ReadingFilter{ID: id, All: true})
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := readingPage{Trial: t, Story: because(story), Form: f, Blind: t.State == trials.Running || t.State == trials.SealedUp}
	found := false
	for _, one := range story {
		if one.ID == id {
			p.One, found = one, true
		}
	}
	if !found {
		s.Refuse(w, r, http.StatusNotFound, "There is no such reading in this trial.", "Look for it in the list of readings.")
		return
	}
	s.Show(w, r, status, "reading", page.Frame{Heading: "Reading of {1}", Of: []string{p.One.Code}, Part: "trials", Page: p})
}

// judgeReading leaves a reading out, or takes it back in, with a reason.
func (s *Pages) judgeReading(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	out := f.Get("do") != "in"
	err = s.Bench.Exclude(r.Context(), page.WhoIs(r), form.PathID(r, "reading"), out, f.Text("why"))
	if f.Refused(err) {
		s.showReading(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, map[bool]string{true: wording.Key("Left out, with your reason. It stands in the report, and the findings are shown both ways."), false: wording.Key("Taken back in, with your reason.")}[out])
	http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
}

// readingRow is a reading with the reason that the one after it gave.
type readingRow struct {
	trials.Reading
	Because string
}

// because takes the reasons from the rows themselves.
func because(rows []trials.Reading) []readingRow {
	why := map[int64]string{}
	for _, r := range rows {
		why[r.Supersedes] = r.Why
	}
	out := make([]readingRow, len(rows))
	for i, r := range rows {
		out[i] = readingRow{r, why[r.ID]}
	}
	return out
}

// mostReasons is how many reasons are looked up one by one for a page.
const mostReasons = 100

// withReasons looks up the reasons that stand in rows beyond those at hand.
func (s *Pages) withReasons(ctx context.Context, by knownwater.Who, t trials.Trial, rows []trials.Reading) ([]readingRow, error) {
	out := because(rows)
	looked := 0
	for i := range out {
		if out[i].SupersededBy == 0 || out[i].Because != "" || looked == mostReasons {
			continue
		}
		looked++
		after, err := s.someReadings(ctx, by, t, trials.ReadingFilter{All: true, Limit: 1, After: out[i].SupersededBy - 1})
		if err != nil {
			return nil, err
		}
		if len(after) > 0 {
			out[i].Because = after[0].Why
		}
	}
	return out, nil
}
