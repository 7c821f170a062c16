package web

import (
	"context"
	"net/http"
	"net/url"
	"strconv"

	"knownwater/bench"
)

// readingsPage is the readings behind a number, or all of a trial.
type readingsPage struct {
	Trial  bench.Trial
	Rows   []toldReading
	Blind  bool   // the key is shut: no level is shown
	Behind string // what number they stand behind
	More   string // query of the next page
	Back   string
}

const rowsAPage = 200

func (s *Server) readings(w http.ResponseWriter, r *http.Request) {
	ctx, by, id := r.Context(), whoIs(r), pathID(r, "id")
	t, err := s.bench.Trial(ctx, by, id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	q := r.URL.Query()
	filter, behind := readFilter(q)
	p := readingsPage{Trial: t, Behind: behind, Blind: t.State == bench.Running || t.State == bench.SealedUp}
	rows, err := s.someReadings(ctx, by, t, filter)
	if err == nil {
		p.Rows, err = s.told(ctx, by, t, rows)
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if len(p.Rows) == rowsAPage {
		q.Set("after", itoa(p.Rows[len(p.Rows)-1].ID))
		p.More = q.Encode()
	}
	s.show(w, r, http.StatusOK, "readings", frame{Title: "Readings: " + t.Plan.Title, Part: "trials", Page: p})
}

func (s *Server) someReadings(ctx context.Context, by bench.Who, t bench.Trial, f bench.ReadingFilter) ([]bench.Reading, error) {
	if t.State == bench.Running || t.State == bench.SealedUp {
		return s.bench.SealedReadings(ctx, by, t.ID, f)
	}
	return s.bench.Readings(ctx, by, t.ID, f)
}

// readFilter reads which readings are wanted, and says it in words.
func readFilter(q url.Values) (bench.ReadingFilter, string) {
	f := bench.ReadingFilter{Method: q.Get("method"), Text: q.Get("text"), Excluded: q.Has("excluded"), Flagged: q.Has("flagged"), All: q.Has("all"), Limit: rowsAPage}
	words := f.Method
	if d, err := strconv.ParseFloat(q.Get("dilution"), 64); err == nil {
		f.Dilution = d
		if d > 1 {
			words += ", diluted ×" + num(d)
		}
	}
	if l, err := strconv.ParseFloat(q.Get("level"), 64); err == nil {
		f.Level = &l
		words += ", at " + num(l)
	}
	if q.Has("technique") {
		t := q.Get("technique")
		f.Technique = &t
		words += ", " + t
	}
	if f.Text != "" {
		words += ", read as " + f.Text
	}
	if f.Excluded {
		words += ", those left out"
	}
	if f.Flagged {
		words += ", those with a flag"
	}
	f.Reader, _ = strconv.ParseInt(q.Get("reader"), 10, 64)
	f.Vial, _ = strconv.ParseInt(q.Get("vial"), 10, 64)
	f.After, _ = strconv.ParseInt(q.Get("after"), 10, 64)
	f.Session, _ = strconv.Atoi(q.Get("session"))
	return f, words
}

// readingPage is one reading with its story, and the form to leave it out.
type readingPage struct {
	Trial bench.Trial
	One   bench.Reading
	Story []toldReading // the reading and what it corrects or was corrected by
	Blind bool
	Form  *form
}

func (s *Server) reading(w http.ResponseWriter, r *http.Request) {
	s.showReading(w, r, http.StatusOK, &form{})
}

func (s *Server) showReading(w http.ResponseWriter, r *http.Request, status int, f *form) {
	ctx, by := r.Context(), whoIs(r)
	t, err := s.bench.Trial(ctx, by, pathID(r, "id"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	id := pathID(r, "reading")
	story, err := s.someReadings(ctx, by, t, bench.ReadingFilter{ID: id, All: true})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := readingPage{Trial: t, Story: because(story), Form: f, Blind: t.State == bench.Running || t.State == bench.SealedUp}
	found := false
	for _, one := range story {
		if one.ID == id {
			p.One, found = one, true
		}
	}
	if !found {
		s.refuse(w, r, http.StatusNotFound, "There is no such reading in this trial.", "Look for it in the list of readings.")
		return
	}
	s.show(w, r, status, "reading", frame{Title: "Reading of " + p.One.Code, Part: "trials", Page: p})
}

// judgeReading leaves a reading out, or takes it back in, with a reason.
func (s *Server) judgeReading(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	out := f.Get("do") != "in"
	err = s.bench.Exclude(r.Context(), whoIs(r), pathID(r, "reading"), out, f.text("why"))
	if s.formFaults(f, err) {
		s.showReading(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, map[bool]string{true: "Left out, with your reason. It stands in the report, and the findings are shown both ways.", false: "Taken back in, with your reason."}[out])
	http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
}

// toldReading is a reading with the reason that the one after it gave.
type toldReading struct {
	bench.Reading
	Because string
}

// because takes the reasons from the rows themselves.
func because(rows []bench.Reading) []toldReading {
	why := map[int64]string{}
	for _, r := range rows {
		why[r.Supersedes] = r.Why
	}
	out := make([]toldReading, len(rows))
	for i, r := range rows {
		out[i] = toldReading{r, why[r.ID]}
	}
	return out
}

// mostReasons is how many reasons are looked up one by one for a page.
const mostReasons = 100

// told looks up the reasons that stand in rows beyond those at hand.
func (s *Server) told(ctx context.Context, by bench.Who, t bench.Trial, rows []bench.Reading) ([]toldReading, error) {
	out := because(rows)
	looked := 0
	for i := range out {
		if out[i].SupersededBy == 0 || out[i].Because != "" || looked == mostReasons {
			continue
		}
		looked++
		after, err := s.someReadings(ctx, by, t, bench.ReadingFilter{All: true, Limit: 1, After: out[i].SupersededBy - 1})
		if err != nil {
			return nil, err
		}
		if len(after) > 0 {
			out[i].Because = after[0].Why
		}
	}
	return out, nil
}
