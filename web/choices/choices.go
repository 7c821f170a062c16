package choices

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/science/choose"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// worked is what a choice comes to; Next only where it was asked for.
type worked struct {
	chosen bench.Chosen
	next   []choose.Experiment
}

// choicesPage is the choice for one need.
type choicesPage struct {
	Needs   []option
	Trials  []option
	Answers string // a month, as typed
	Readers string
	Faults  []string

	Ready bool // there is a choice
	waiting
	Query     string // of this page
	Again     string // its address
	Need      string
	Range     string
	Head      string
	Ways      []wayRow
	Rest      []wayRow // behind a fold
	Changes   []string
	BreakEven template.HTML
	BreakWays [2]string
	Pair      string
	Along     []alongView
	Beside    []string
	Notes     []string
	Left      []string
	Over      []string

	NextPath string
	Knowns   string // the unit of knowns and readings, where it is not that of the page
	Asked    bool
	Next     []nextView
}

type option struct {
	ID     int64
	Words  string
	Chosen bool
}

// wayRow is one way of testing beside the others.
type wayRow struct {
	Method, Way, Verdict, Class, Error, Zero, Step, Minutes, Money, Beyond string
	Follows                                                                string // what from; empty: it was tried
	Use                                                                    bool
	Missing                                                                []string // why a number of single results is none
	SVG, ZeroSVG, StepSVG                                                  template.HTML
}

type alongView struct {
	Name string
	SVG  template.HTML
}

// nextView is an experiment with what its plan is made of.
type nextView struct {
	Says             string
	Trial, Need      int64
	Method, Matrix   string
	Dilution         string
	Levels           []string
	Each             int
	Minutes, Command string
}

func (s *Pages) choices(w http.ResponseWriter, r *http.Request) {
	p, c, err := s.asked(r.Context(), s.ReaderOn(r, "choices").Language, r.URL.Query())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	frame := page.Frame{Title: "Choose", Part: "choices"}
	if c.Need.ID == 0 || len(c.Trials) == 0 || len(p.Faults) > 0 {
		frame.Page = p
		s.Show(w, r, http.StatusOK, "choices", frame)
		return
	}
	query := r.URL.Query()
	p.Asked = query.Get("next") != ""
	p.Stopped = query.Get("stopped") != ""
	query.Del("stopped")
	p.Query = query.Encode()
	p.Again = "/choices?" + p.Query
	if p.Stopped {
		p.Asked = false
	} else if err := s.work(w, r, &p, c, query); err != nil {
		s.Fail(w, r, err)
		return
	}
	frame.Page = p
	s.Show(w, r, http.StatusOK, "choices", frame)
}

// work works a choice out beside the page, or says how far it has come.
func (s *Pages) work(w http.ResponseWriter, r *http.Request, p *choicesPage, c bench.Choosing, query url.Values) error {
	ctx, by := r.Context(), page.WhoIs(r)
	key := keyOf(c, p.Asked, by)
	got, ready, err := s.underway.Within(ctx, page.Patience, key, func(ctx context.Context) (out worked, err error) {
		if out.chosen, err = s.Bench.Choose(ctx, by, c); err == nil && p.Asked {
			out.next, err = s.Bench.NextVials(ctx, out.chosen, page.Progress(ctx))
		}
		return out, err
	})
	done, err := p.on(w, r, ready, err, func() (int, int) { return s.underway.HowFar(key) }, wording.Key("Looking ahead: open question {1} of {2}."))
	if done {
		p.fill(s.ReaderOn(r, "choices"), got, c)
		query.Set("next", "1")
		p.NextPath = "/choices?" + query.Encode() + "#next"
	}
	return err
}

// keyOf tells one computation from another: the same page asked for again finds it.
func keyOf(c bench.Choosing, next bool, by knownwater.Who) string {
	return fmt.Sprintf("choice %+v %v %d", c, next, by.Person)
}

// stop ends what is worked out for a page.
func (s *Pages) stop(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	query, err := url.ParseQuery(f.Get("query"))
	if err != nil {
		s.Fail(w, r, knownwater.Faults{{Column: "query", Found: "no address", Want: "the button of the page that is worked out"}})
		return
	}
	_, c, err := s.asked(r.Context(), s.ReaderOn(r, "choices").Language, query)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.underway.Stop(keyOf(c, query.Get("next") != "", page.WhoIs(r)))
	query.Set("stopped", "1")
	http.Redirect(w, r, "/choices?"+query.Encode(), http.StatusSeeOther)
}

// asked is what the address asks for: a need, trials, how often, how many people. Without
// a need it is the first; without trials all that were judged and are about its analyte.
func (s *Pages) asked(ctx context.Context, l *wording.Language, q url.Values) (p choicesPage, c bench.Choosing, err error) {
	c.Version, c.Today = s.Options.Version, s.Now().Format(time.DateOnly)
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		return p, c, err
	}
	wanted, _ := strconv.ParseInt(q.Get("need"), 10, 64)
	for _, n := range needs {
		if !n.Retired && (c.Need.ID == 0 && wanted == 0 || n.ID == wanted) {
			c.Need = n
		}
	}
	for _, n := range needs {
		if !n.Retired {
			p.Needs = append(p.Needs, option{n.ID, n.Need.Name, n.ID == c.Need.ID})
		}
	}
	all, err := s.Bench.Trials(ctx)
	if err != nil {
		return p, c, err
	}
	for _, t := range all {
		if t.State != trials.Opened && t.State != trials.Finished || t.Plan.Scale.Analyte != c.Need.Scale.Analyte || t.Progress.Taken == 0 {
			continue
		}
		chosen := len(q["trial"]) == 0 || slices.Contains(q["trial"], render.ID(t.ID))
		p.Trials = append(p.Trials, option{t.ID, t.Plan.Title, chosen})
		if chosen {
			c.Trials = append(c.Trials, t.ID)
		}
	}
	p.Answers, p.Readers = q.Get("answers"), q.Get("readers")
	c.Options.TestsAMonth = p.number(l, wording.Key("answers a month"), p.Answers, 1000)
	c.Options.Readers = int(p.number(l, wording.Key("people who read"), p.Readers, 100))
	return p, c, nil
}

// number is what was typed; nothing is 0.
func (p *choicesPage) number(l *wording.Language, what, typed string, most float64) float64 {
	if typed == "" {
		return 0
	}
	v, err := form.ParseNumber(typed)
	if err != nil || !(v >= 0 && v <= most) {
		p.Faults = append(p.Faults, l.Say("{1}: “{2}”: a number from 0 to {3}", l.Say(what), typed, form.Exactly(most)))
		return 0
	}
	return v
}

// waysSeen is how many ways stand side by side; the rest is folded.
const waysSeen = 6

func (p *choicesPage) fill(as render.Reader, got worked, c bench.Choosing) {
	t := as.Units.Turn(got.chosen.Scale)
	n, scale := report.TurnedChoice(got.chosen.Need, t.K), t.To
	p.Ready, p.Need, p.Head = true, n.Need.Name, report.ChosenHead(as.Language, n)
	p.Range = report.NeedRange(as.Language, n, scale)
	widest := widestOf(n)
	for i, w := range n.Ways {
		row := rowOf(as, i, n, w, widest)
		if i < waysSeen || i == n.Use {
			p.Ways = append(p.Ways, row)
		} else {
			p.Rest = append(p.Rest, row)
		}
	}
	for _, x := range n.Changes {
		p.Changes = append(p.Changes, report.ChangeSays(as.Language, n, x))
	}
	for _, x := range n.Loosen {
		p.Changes = append(p.Changes, report.LoosenedSays(as.Language, n, x))
	}
	p.BreakEven, p.BreakWays = breakEven(as, n)
	p.Pair = report.PairSays(as.Language, n, scale)
	p.Along = alongOf(as, n, scale)
	p.Beside, p.Notes, p.Left = report.SayAllIn(as.Language, n.Beside), report.SayAllIn(as.Language, got.chosen.Notes), got.chosen.Left
	p.Over = got.chosen.Over
	if !t.Same() {
		p.Knowns = got.chosen.Scale.String()
	}
	for _, x := range got.next {
		p.Next = append(p.Next, nextOf(as, x, got.chosen, c.Need.ID))
	}
}

func nextOf(as render.Reader, x choose.Experiment, c bench.Chosen, need int64) nextView {
	v := nextView{Says: report.NextSays(as.Language, x), Need: need, Method: x.Method, Matrix: x.Matrix, Command: report.ForecastCommand(x)}
	for i, t := range c.From {
		if t.Name == x.Report {
			v.Trial = c.IDs[i]
		}
	}
	for _, k := range x.Vials {
		v.Levels, v.Each, v.Dilution = append(v.Levels, form.Exactly(k.Level)), k.Readings, form.Exactly(k.Dilution)
	}
	return v
}

// plan opens an experiment as a plan of its own, to change.
func (s *Pages) plan(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	made, err := s.planned(r.Context(), page.WhoIs(r), f)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "The experiment stands as a plan. Change what you like, then seal it.")
	http.Redirect(w, r, "/trials/"+render.ID(made.ID)+"/plan", http.StatusSeeOther)
}

func (s *Pages) planned(ctx context.Context, by knownwater.Who, f *form.Form) (made trials.Trial, err error) {
	ids := f.IDs("trial")
	v := trials.FurtherVials{Method: f.Text("method"), Matrix: f.Text("matrix"), Each: f.Whole("each", 200), Needs: f.IDs("need")}
	for _, text := range f.Values["level"] {
		level, err := form.ParseNumber(text)
		if err != nil {
			f.Reject("level", "“"+text+"”", "a concentration")
		}
		v.Levels = append(v.Levels, level)
	}
	if len(ids) != 1 || v.Each < 1 || len(v.Levels) == 0 {
		f.Reject("plan", "an experiment without its trial or its vials", "the button beside an experiment")
	}
	if f.Bad() {
		return made, f.Faults()
	}
	v.Trial = ids[0]
	return s.Bench.PlanFurther(ctx, by, v)
}
