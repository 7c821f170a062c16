package waters

import (
	"html/template"
	"math"
	"net/http"
	"time"

	"knownwater/bench"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/control"
	"knownwater/web/page"
	"knownwater/web/render"
)

// checksPage is every row of checks on its chart.
type checksPage struct {
	Rows []checkRow
	Read string
	Plan []*planner // of each method and known the lot that was checked last
}

type checkRow struct {
	Title, Says, Class string
	Figure             template.HTML
	Checks             []checkLine // newest first
}

type checkLine struct {
	When          time.Time
	Reader, Text  string
	Path          string
	After, Before float64 // the running sums after it
	Rang          bool
}

func (s *Pages) checks(w http.ResponseWriter, r *http.Request) {
	watched, err := s.Bench.Watch(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	as := s.ReaderOn(r, "checks")
	p := checksPage{Read: "/read?role=check"}
	planned := map[string]map[float64]bool{}
	for i, x := range watched {
		p.Rows = append(p.Rows, rowOf(as, i, x))
		if k := planned[x.Method][x.Known]; !k { // of each the lot that was checked last
			if plan := plannerOf(as, x); plan != nil {
				if planned[x.Method] == nil {
					planned[x.Method] = map[float64]bool{}
				}
				planned[x.Method][x.Known] = true
				p.Plan = append(p.Plan, plan)
			}
		}
	}
	s.Show(w, r, http.StatusOK, "checks", page.Frame{Heading: "Checks", Part: "waters", Page: p})
}

var stateClass = map[control.State]string{control.Holds: "within", control.Moved: "outside", control.Undecided: "undecided"}

func rowOf(as render.Reader, i int, w bench.Watched) checkRow {
	title := w.Method
	if w.Lot != "" {
		title += ", " + as.Language.Say("lot {1}", w.Lot)
	}
	if w.Reader != "" {
		title += ", " + as.Language.Say("read by {1}", w.Reader)
	}
	c := checkRow{Title: as.Language.Say("{1}, known {2}", title, render.TwoDigits(w.Known)), Says: report.ChecksSay(as.Language, w.Checks), Class: stateClass[w.Now().Chart.State]}
	results := "/records/" + render.ID(w.Record) + "/results/"
	if w.Record == 0 {
		results = "/curves/" + render.ID(w.Curve) + "/results/"
	}
	for k := len(w.Entries) - 1; k >= 0; k-- {
		e := w.Entries[k]
		l := checkLine{When: e.At, Reader: e.Reader, Text: report.AsRead(e), Path: results + render.ID(int64(e.Row))}
		if n := k - w.From; n >= 0 && n < len(w.Chart.Points) {
			l.After, l.Before, l.Rang = w.Chart.Points[n].Up, w.Chart.Points[n].Down, n == w.Chart.Signal
		}
		c.Checks = append(c.Checks, l)
	}
	if len(w.Chart.Points) > 0 {
		c.Figure = checkFigure(as, i, w)
	}
	return c
}

// checkFigure draws checks in standard deviations of one check, the onset hatched below.
func checkFigure(as render.Reader, i int, w bench.Watched) template.HTML {
	day := func(t time.Time) float64 { return float64(t.Unix()) / 86400 }
	first, last := w.Entries[w.From].At, w.Entries[len(w.Entries)-1].At
	t := chart.Times{ID: "check-" + render.ID(int64(i)), Title: report.ChecksSay(as.Language, w.Checks), Height: 150, First: day(first), Last: day(last), Low: -4, High: 4, Known: 0, Days: chart.DaysBetween(first.Local(), last.Local())}
	for k, p := range w.Chart.Points {
		v := chart.Known
		if at := w.Entries[w.From+k].At; w.Chart.State == control.Moved && k >= w.Chart.Signal && w.AwayOn(at) != nil {
			v = chart.Outside
		}
		b := chart.Bar{Low: p.Seen[0], High: p.Seen[1], Notch: math.NaN(), Verdict: v}
		t.Bars = append(t.Bars, chart.TimeBar{At: day(w.Entries[w.From+k].At), Bar: b})
	}
	if o := w.Onset; o != nil {
		t.Onset = &chart.Stretch{Low: math.Max(day(o.From), day(first)), High: day(o.To)}
		t.Events = append(t.Events, chart.Event{At: day(w.SignalAt), Words: as.Language.Say("rang {1}", as.Language.Time(w.SignalAt, "2 Jan"))})
		if w.Since != nil {
			t.Events = append(t.Events, chart.Event{At: day(o.Again), Words: as.Language.Say("back by {1}", as.Language.Time(o.Again, "2 Jan"))})
		}
	}
	return template.HTML(t.SVG())
}
