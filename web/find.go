package web

import (
	"context"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// foundAPage is how many rows of each kind a page of a search shows: on a phone a row is a card.
const foundAPage = 25

// findPage is what was looked for, and what is like it.
type findPage struct {
	Form      *form.Form
	Asked     bool
	Narrowed  string // to what, in words
	Trials    []trials.Trial
	Readings  []foundReading
	OfRead    leafing
	Results   []foundResult
	OfResults leafing
	Methods   []string
	Readers   []string
	Waters    []string
}

// leafing is which rows of those that are like a search are shown, and the ways to the others.
type leafing struct {
	First, Last  int
	Newer, Older template.URL // queries; empty where there are none
}

// leaf is the part of a search that a query asks for with a name; n rows of it were found.
func leaf(q url.Values, name string, n int, more bool) leafing {
	skip := skipped(q, name)
	to := func(skip int) template.URL {
		other := url.Values{}
		for k, v := range q {
			other[k] = v
		}
		other.Del(name)
		if skip > 0 {
			other.Set(name, strconv.Itoa(skip))
		}
		return template.URL(other.Encode())
	}
	l := leafing{First: skip + 1, Last: skip + n}
	if skip > 0 {
		l.Newer = to(max(0, skip-foundAPage))
	}
	if more {
		l.Older = to(skip + foundAPage)
	}
	return l
}

// skipped is how many rows come before those that are asked for.
func skipped(q url.Values, name string) int {
	n, _ := strconv.Atoi(q.Get(name))
	return max(0, min(n, 1_000_000_000))
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

// narrowed says which conditions there are beside the words.
func (c search) narrowed() string {
	var all []string
	for _, part := range []string{c.method, c.reader, c.water} {
		if part != "" {
			all = append(all, part)
		}
	}
	if c.level != nil {
		all = append(all, "level "+render.Number(*c.level))
	}
	if c.session != "" {
		all = append(all, "session "+c.session)
	}
	return strings.Join(all, ", ")
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
	p := findPage{Form: &form.Form{Values: q}, Asked: !c.empty(), Narrowed: c.narrowed()}
	if c.levelWrong {
		p.Form.Reject("level", "“%s” is no number", form.WantNumber, q.Get("level"))
	}
	err := s.choices(r, &p)
	if err == nil && p.Asked && !c.levelWrong {
		err = s.seek(r, c, &p)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "find", page.Frame{Heading: "Find", Part: "find", Page: p})
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
	ctx, by, q := r.Context(), page.WhoIs(r), r.URL.Query()
	titles, err := s.seekTrials(ctx, by, c, p)
	if err != nil {
		return err
	}
	if c.ofReadings {
		rows, more, err := s.Bench.FindReadings(ctx, by, trials.Search{Words: c.words, Method: c.method, Reader: c.reader, Session: c.session, Level: c.level,
			Order: c.order, Skip: skipped(q, "readings"), Limit: foundAPage})
		if err != nil {
			return err
		}
		for _, x := range rows {
			p.Readings = append(p.Readings, foundReading{x, titles[x.Trial], sessionOf(x)})
		}
		p.OfRead = leaf(q, "readings", len(rows), more)
	}
	if c.ofResults {
		rows, more, err := s.Bench.FindResults(ctx, by, calibrations.Search{Words: c.words, By: c.method, Reader: c.reader, Water: c.water,
			Order: c.order, Skip: skipped(q, "results"), Limit: foundAPage})
		if err != nil {
			return err
		}
		for _, x := range rows {
			where := "/records/" + render.ID(x.Record)
			if x.Record == 0 {
				where = "/curves/" + render.ID(x.Curve)
			}
			p.Results = append(p.Results, foundResult{x, where + "/results/" + render.ID(x.ID)})
		}
		p.OfResults = leaf(q, "results", len(rows), more)
	}
	return nil
}

// seekTrials looks through the titles of trials, and says how each is called.
func (s *Server) seekTrials(ctx context.Context, by knownwater.Who, c search, p *findPage) (map[int64]string, error) {
	here, err := s.Bench.Trials(ctx)
	if err != nil {
		return nil, err
	}
	away, err := s.Bench.TrialsAway(ctx, by)
	if err != nil {
		return nil, err
	}
	titles := map[int64]string{}
	for _, t := range append(here, away...) {
		titles[t.ID] = t.Plan.Title
		if len(c.words) > 0 && c.like(t.Plan.Title, t.Planned, t.Plan.Question, t.Source) {
			p.Trials = append(p.Trials, t)
		}
	}
	return titles, nil
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
