package web

import (
	"cmp"
	"context"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// mostSought is how many rows of each kind a search shows.
const mostSought = 200

// findPage is what was looked for, and what is like it.
type findPage struct {
	Form     *form.Form
	Asked    bool
	Trials   []trials.Trial
	Readings []foundReading
	Results  []foundResult
	More     bool // more are like it than are shown
	Methods  []string
	Readers  []string
	Waters   []string
}

type foundReading struct {
	trials.Reading
	Title   string
	Session string
}

// sessionOf is what a reading's session is called, or its number.
func sessionOf(x trials.Reading) string {
	if x.Sitting == "" && x.Session > 0 {
		return strconv.Itoa(x.Session)
	}
	return x.Sitting
}

type foundResult struct {
	calibrations.Result
	Where string // its page
}

// search is what is looked for; what is empty is no condition.
type search struct {
	words                 []string // each in some text of the row, in small letters
	method, reader, water string
	level                 *float64
	session               string
	order                 string // "", level, method, reader
	ofReadings, ofResults bool
	levelWrong            bool
}

func readSearch(q url.Values) (c search) {
	c = search{words: strings.Fields(strings.ToLower(q.Get("words"))), method: q.Get("method"), reader: q.Get("reader"), water: q.Get("water"), order: q.Get("order")}
	if text := strings.TrimSpace(q.Get("level")); text != "" {
		l, err := form.ParseNumber(text)
		c.level, c.levelWrong = &l, err != nil
	}
	c.session = strings.TrimSpace(q.Get("session"))
	c.ofReadings = c.water == ""                    // a trial’s readings are of knowns
	c.ofResults = c.level == nil && c.session == "" // a water’s results have neither
	return c
}

func (c search) empty() bool {
	return len(c.words) == 0 && c.method == "" && c.reader == "" && c.water == "" && c.level == nil && c.session == ""
}

// like says whether texts together hold every word.
func (c search) like(texts ...string) bool {
	all := strings.ToLower(strings.Join(texts, "\n"))
	for _, w := range c.words {
		if !strings.Contains(all, w) {
			return false
		}
	}
	return true
}

// find searches readings of trials whose key is open, results, and titles of trials.
func (s *Server) find(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	c := readSearch(q)
	p := findPage{Form: &form.Form{Values: q}, Asked: !c.empty()}
	if c.levelWrong {
		p.Form.Reject("level", "“"+q.Get("level")+"” is no number", form.ANumber)
	}
	err := s.choices(r, &p)
	if err == nil && p.Asked && !c.levelWrong {
		err = s.seek(r, c, &p)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "find", page.Frame{Title: "Find", Part: "find", Page: p})
}

// choices are the names that there are to choose from.
func (s *Server) choices(r *http.Request, p *findPage) error {
	ctx := r.Context()
	methods, err := s.Bench.Methods(ctx)
	if err != nil {
		return err
	}
	for _, m := range methods {
		p.Methods = append(p.Methods, m.Spec.Name)
	}
	people, err := s.Bench.People(ctx)
	if err != nil {
		return err
	}
	for _, x := range people {
		p.Readers = append(p.Readers, x.Name)
	}
	waters, err := s.Bench.Waters(ctx)
	if err != nil {
		return err
	}
	for _, x := range waters {
		p.Waters = append(p.Waters, x.Spec.Name)
	}
	for _, names := range []*[]string{&p.Methods, &p.Readers, &p.Waters} {
		slices.Sort(*names)
		*names = slices.Compact(*names)
	}
	return nil
}

func (s *Server) seek(r *http.Request, c search, p *findPage) error {
	ctx, by := r.Context(), page.WhoIs(r)
	here, err := s.Bench.Trials(ctx)
	if err != nil {
		return err
	}
	away, err := s.Bench.TrialsAway(ctx, by)
	if err != nil {
		return err
	}
	for _, t := range append(here, away...) {
		if len(c.words) > 0 && c.like(t.Plan.Title, t.Planned, t.Plan.Question, t.Source) {
			p.Trials = append(p.Trials, t)
		}
		if c.ofReadings && t.Place != trials.Removed && (t.State == trials.Opened || t.State == trials.Finished) {
			if err := s.seekInTrial(ctx, by, t, c, p); err != nil {
				return err
			}
		}
	}
	if c.ofResults {
		if err := s.seekInResults(ctx, by, c, p); err != nil {
			return err
		}
	}
	c.sort(p)
	return nil
}

// seekInTrial goes through the readings of a trial by the filters that the bench has, and
// looks at the words of each.
func (s *Server) seekInTrial(ctx context.Context, by knownwater.Who, t trials.Trial, c search, p *findPage) error {
	f := trials.ReadingFilter{Method: c.method, Level: c.level, Limit: 1000}
	for {
		rows, err := s.Bench.Readings(ctx, by, t.ID, f)
		if err != nil {
			return err
		}
		for _, x := range rows {
			if c.reader != "" && x.Name != c.reader || c.session != "" && c.session != sessionOf(x) || !c.like(t.Plan.Title, x.Code, x.Method, x.Name, x.Lot, x.Known, x.Text, x.Note, x.Technique) {
				continue
			}
			if len(p.Readings) == mostSought {
				p.More = true
				return nil
			}
			p.Readings = append(p.Readings, foundReading{x, t.Plan.Title, sessionOf(x)})
		}
		if len(rows) < f.Limit {
			return nil
		}
		f.After = rows[len(rows)-1].ID
	}
}

func (s *Server) seekInResults(ctx context.Context, by knownwater.Who, c search, p *findPage) error {
	f := calibrations.ResultFilter{Limit: 1000}
	for {
		rows, more, err := s.Bench.Results(ctx, by, f)
		if err != nil {
			return err
		}
		for _, x := range rows {
			if c.method != "" && x.By != c.method || c.reader != "" && x.Reader != c.reader || c.water != "" && x.Water != c.water || !c.like(x.By, x.Water, x.Text, x.Reader, x.Lot, x.Note) {
				continue
			}
			if len(p.Results) == mostSought {
				p.More = true
				return nil
			}
			where := "/records/" + render.ID(x.Record)
			if x.Record == 0 {
				where = "/curves/" + render.ID(x.Curve)
			}
			p.Results = append(p.Results, foundResult{x, where + "/results/" + render.ID(x.ID)})
		}
		if !more || len(rows) == 0 {
			return nil
		}
		f.Before = rows[len(rows)-1].ID
	}
}

// sort puts what was found into the order that is asked for: newest first by itself.
func (c search) sort(p *findPage) {
	newest := func(a, b time.Time) int { return b.Compare(a) }
	slices.SortStableFunc(p.Readings, func(a, b foundReading) int {
		switch c.order {
		case "level":
			return cmp.Or(cmp.Compare(a.Level, b.Level), cmp.Compare(a.Method, b.Method), cmp.Compare(a.ID, b.ID))
		case "method":
			return cmp.Or(cmp.Compare(a.Method, b.Method), cmp.Compare(a.Level, b.Level), cmp.Compare(a.ID, b.ID))
		case "reader":
			return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID))
		}
		return cmp.Or(newest(a.ReadAt, b.ReadAt), cmp.Compare(b.ID, a.ID))
	})
	slices.SortStableFunc(p.Results, func(a, b foundResult) int {
		switch c.order {
		case "level":
			return cmp.Or(cmp.Compare(a.Outcome.Low, b.Outcome.Low), cmp.Compare(a.ID, b.ID))
		case "method":
			return cmp.Or(cmp.Compare(a.By, b.By), cmp.Compare(a.ID, b.ID))
		case "reader":
			return cmp.Or(cmp.Compare(a.Reader, b.Reader), cmp.Compare(a.ID, b.ID))
		}
		return cmp.Or(newest(a.TakenAt, b.TakenAt), cmp.Compare(b.ID, a.ID))
	})
}

// choice is a field of names to choose from.
type choice struct {
	ID, Label string
	Names     []string
	Now       string
}

type order struct{ Value, Label string }

// findWords are what only the page of search calls.
var findWords = template.FuncMap{
	"choice": func(id, label string, names []string, now string) choice { return choice{id, label, names, now} },
	"orders": func() []order {
		return []order{{"", "the newest first"}, {"level", "level"}, {"method", "method"}, {"reader", "reader"}}
	},
}
