package waters

import (
	"context"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// waterPage is a water with its results over time.
type waterPage struct {
	Analytes []analyteLink // where its results are of several
	Of       string        // the one that is shown; empty: there is one
	Water    knownwater.Water
	Read     string
	Needs    []knownwater.NeedEntry
	Head     string // the last result that stands, in a sentence
	Doubt    string // about the last ones
	Figure   template.HTML
	Lines    []line // newest first
	Axis     template.HTML
	More     bool // older ones are not shown
	Waiting  []line
	Tests    []testLine // what duplicates, spikes and blanks say
	Alerts   []string
	Form     *form.Form // what became of those that wait
	Unit     string
	ReadIn   string // of what was read, where it is another one
}

// mostShown is how many results a water's page shows.
const mostShown = 60

func (s *Pages) water(w http.ResponseWriter, r *http.Request) {
	s.showWater(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showWater(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	p, err := s.waterOf(r.Context(), s.ReaderOn(r, "water"), form.PathID(r, "id"), r.URL.Query().Get("of"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Form = f
	s.Show(w, r, status, "water", page.Frame{Title: p.Water.Spec.Name, Part: "waters", Page: p})
}

func (s *Pages) waterOf(ctx context.Context, as render.Reader, id int64, of string) (p waterPage, err error) {
	if p.Water, err = s.Bench.Water(ctx, id); err != nil {
		return p, err
	}
	p.Read = "/read?tank=" + render.ID(id)
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		return p, err
	}
	p.Needs = as.Needs(needsOf(p.Water.Spec, needs))
	watched, err := s.Bench.Watch(ctx)
	if err != nil {
		return p, err
	}
	list, err := s.Bench.ResultsOfWater(ctx, id, p.Water.Spec.Name, mostShown+1)
	if err != nil {
		return p, err
	}
	if p.More = len(list) > mostShown; p.More {
		list = list[:mostShown]
	}
	tests, err := s.Bench.QualityOf(ctx, list)
	if err != nil {
		return p, err
	}
	for _, q := range tests {
		p.Tests = append(p.Tests, testLineOf(as, q))
	}
	for _, r := range list {
		if in := as.ReadIn(r.Scale); in != "" && r.Record != 0 { // a curve’s signals have no such unit
			p.ReadIn = in
		}
	}
	list = as.Results(list)
	list = slices.DeleteFunc(list, func(r calibrations.Result) bool { // they are no level of this water
		return r.Of.Role == knownwater.Blanked || r.Of.Role == knownwater.Spiked
	})
	p.Alerts = alerts(as, touching(watched, list))
	list = p.only(list, of)
	scale := scaleOf(list, p.Needs)
	for _, r := range list {
		l := lineOf(as, r, p.Needs, watched, scale)
		p.Lines = append(p.Lines, l)
		if l.Waits != "" {
			p.Waiting = append(p.Waiting, l)
		}
	}
	p.say(as)
	if len(p.Lines) > 0 {
		p.Axis = template.HTML(chart.Row{Scale: &scale}.Axis(false))
		p.Unit = strings.TrimSpace(p.Lines[0].Scale.String())
		p.Figure = figure(as, p, scale)
	}
	return p, nil
}

// everyAnalyte asks for all results, whatever they are of: a slip has those of a day.
const everyAnalyte = "*"

// only keeps the results of one analyte, the last tested one where none is asked for, and links to the others.
func (p *waterPage) only(list []calibrations.Result, of string) []calibrations.Result {
	var all []string
	for _, r := range list {
		if !slices.Contains(all, r.Scale.Analyte) {
			all = append(all, r.Scale.Analyte)
		}
	}
	if len(all) < 2 || of == everyAnalyte {
		return list
	}
	if !slices.Contains(all, of) {
		of = all[0]
	}
	for _, name := range all {
		p.Analytes = append(p.Analytes, analyteLink{Path(p.Water.ID) + "?" + url.Values{"of": {name}}.Encode(), name, name == of})
	}
	p.Of = of
	return slices.DeleteFunc(list, func(r calibrations.Result) bool { return r.Scale.Analyte != of })
}

// touching are the checks of methods that results of this water were read with.
func touching(watched []bench.Watched, list []calibrations.Result) (out []bench.Watched) {
	for _, w := range watched {
		if slices.ContainsFunc(list, w.Of) {
			out = append(out, w)
		}
	}
	return out
}

// say words the last result that stands, and what is to be doubted.
func (p *waterPage) say(as render.Reader) {
	for _, l := range p.Lines {
		if l.Waits != "" || l.Standing == knownwater.ResultLeftOut {
			continue
		}
		said := strings.TrimSuffix(report.ReadingSays(as.Language, l.Said()), ".")
		p.Head = as.Language.Say("{1}, on {2}.", said, as.Language.Time(l.TakenAt.Local(), "2 January"))
		break
	}
	if n := len(p.Waiting); n > 0 {
		first := p.Waiting[n-1]
		since := as.Language.Time(first.TakenAt.Local(), "2 January")
		if p.Doubt = as.Language.Say("1 result waits since {1}: {2}.", since, first.Waits); n > 1 {
			p.Doubt = as.Language.Say("{1} wait since {2}: {3}.", as.Count(n, "result"), since, first.Waits)
		}
	}
}

// figure is the results over time, changes of method and lot as uprights.
func figure(as render.Reader, p waterPage, scale chart.Scale) template.HTML {
	day := func(t time.Time) float64 { return float64(t.Unix()) / 86400 }
	shown := slices.Clone(p.Lines)
	slices.Reverse(shown) // oldest first
	shown = slices.DeleteFunc(shown, func(l line) bool { return l.Scale != p.Lines[0].Scale })
	t := chart.Times{ID: "over-time", Title: as.Language.Say("{1}, results over time", p.Water.Spec.Name), Height: 220, First: day(shown[0].TakenAt), Last: day(shown[len(shown)-1].TakenAt),
		Scale: &scale, Need: needFor(shown[0].Result, p.Needs), Known: math.NaN()}
	var words []string
	for i, l := range shown {
		v := against(l.Result, t.Need)
		switch {
		case l.Standing == knownwater.ResultLeftOut:
			continue
		case l.Waits != "":
			v = chart.Undecided
		case v == chart.Undecided || v == chart.Outside:
			v = chart.Plain // hatching means that a result waits
		default:
			v = chart.Plain
		}
		for _, b := range report.Bars(l.Said().Result, v) {
			t.Bars = append(t.Bars, chart.TimeBar{At: day(l.TakenAt), Bar: b})
		}
		words = append(words, as.Language.Time(l.TakenAt.Local(), "2 January")+": "+l.Words)
		if i == 0 {
			continue
		}
		switch before := shown[i-1]; {
		case before.By != l.By:
			t.Events = append(t.Events, chart.Event{At: (day(before.TakenAt) + day(l.TakenAt)) / 2, Words: as.Language.Say("{1}, then {2}", before.By, l.By)})
		case before.Lot != l.Lot && l.Lot != "":
			t.Events = append(t.Events, chart.Event{At: (day(before.TakenAt) + day(l.TakenAt)) / 2, Words: as.Language.Say("lot {1}", l.Lot), Dashed: true})
		}
	}
	if len(t.Events) > 6 { // words would lie upon each other
		for i := range t.Events {
			t.Events[i].Words = ""
		}
	}
	t.Desc = strings.Join(words, "; ")
	t.Days = chart.DaysBetween(shown[0].TakenAt.Local(), shown[len(shown)-1].TakenAt.Local())
	return template.HTML(t.SVG())
}

// sayStanding keeps what became of results that waited.
func (s *Pages) sayStanding(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.SayStanding(r.Context(), page.WhoIs(r), f.IDs("result"), knownwater.Ruling(f.Text("standing")), f.Get("why"))
	}
	if f != nil && f.Refused(err) {
		s.showWater(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Kept, with your reason. The results themselves stay as they were said.")
	http.Redirect(w, r, Path(form.PathID(r, "id")), http.StatusSeeOther)
}
