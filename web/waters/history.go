package waters

import (
	"context"
	"fmt"
	"html/template"
	"maps"
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
	"knownwater/science/history"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// historyPage says whether a water changed, or the method.
type historyPage struct {
	Water    knownwater.Water
	Analytes []analyteLink // where its results are of several: each has a history of its own
	Of       string        // the one that is shown, as its address says it; empty: there is one
	Paged    bool          // it can be taken away as a page that carries its inputs
	Head     string
	Says     []string
	Slope    string
	Holds    []string // how it kept to its ranges
	Bridges  []string
	Figure   template.HTML
	Rows     []historyRow // newest first
	More     bool
	Form     *form.Form
	Compared string // two spans, if they were asked for
	Notes    []string
	Unit     string
	ReadIn   string // of what was read, where it is another one
	Left     int
	Unread   int // rows of earlier logs
}

type historyRow struct {
	When            time.Time
	Path            string
	By, Lot, Reader string
	Text, Said, Now string
	Standing, Doubt string
}

// mostRows of a history are in its table.
const mostRows = 200

func (s *Pages) history(w http.ResponseWriter, r *http.Request) {
	p, err := s.historyOf(r.Context(), s.ReaderOn(r, "history"), form.PathID(r, "id"), r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "history", page.Frame{Heading: "{1}: water or method?", Of: []string{p.Water.Spec.Name}, Part: "waters", Page: p})
}

func (s *Pages) historyOf(ctx context.Context, as render.Reader, id int64, r *http.Request) (p historyPage, err error) {
	if p.Water, err = s.Bench.Water(ctx, id); err != nil {
		return p, err
	}
	log, err := s.Bench.LogOfWater(ctx, p.Water, scaleIn(r.URL.Query()))
	if err != nil {
		return p, err
	}
	p.Form, p.Left, p.Unread = &form.Form{}, log.Left, log.Unread
	p.Paged = paged(log)
	p.Analytes, p.Of = analyteLinks("/waters/"+render.ID(id)+"/history", nil, log)
	if log.Earlier+len(log.By) == 0 {
		return p, nil
	}
	h, err := s.Bench.WaterHistory(ctx, log)
	if err != nil {
		return p, err
	}
	name := p.Water.Spec.Name
	was, _ := h.ScaleOf(name)
	turn := as.Units.Turn(was)
	p.ReadIn = as.ReadIn(was)
	h = report.TurnedHistory(h, as.Units.Turn)
	p.Head, p.Says = report.WaterHead(as.Language, h, name), report.WaterSays(as.Language, h, name)
	for _, x := range h.Slopes {
		if says := report.SlopeSays(as.Language, h, x); says != "" {
			p.Slope = says // the last stretch's
		}
	}
	p.Holds = report.HoldsOf(as.Language, h, name)
	for _, b := range h.Bridges {
		p.Bridges = append(p.Bridges, report.BridgeSays(as.Language, b))
	}
	p.Notes = report.SayAllIn(as.Language, h.Notes)
	if scale, ok := h.ScaleOf(name); ok {
		p.Unit = scale.String()
	}
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		return p, err
	}
	p.Figure = template.HTML(report.HistoryFigure(as.Language, "history", h, name, needOf(as.Needs(needsOf(p.Water.Spec, needs)), h, name), func(x history.Result) float64 {
		if kept, there := log.By[x.Row]; there {
			return turn.K * kept.Outcome.Level
		}
		return math.NaN()
	}))
	p.rows(as, h, log)
	return p, p.compare(as, r, turn, log)
}

// analyteLink leads to the history of one analyte of several.
type analyteLink struct {
	Path, Name string
	Chosen     bool
}

// scaleIn is the analyte and unit that an address names.
func scaleIn(q url.Values) (s unit.Scale) {
	parts := strings.SplitN(q.Get("of"), ",", 3)
	for i, to := range []*string{&s.Analyte, &s.Unit, &s.Basis} {
		if i < len(parts) {
			*to = parts[i]
		}
	}
	return s
}

// analyteLinks are those of a log of several at an address that says more, and what the chosen one is called there; nil
// where there is one.
func analyteLinks(at string, more url.Values, log bench.WaterLog) (links []analyteLink, of string) {
	if len(log.Scales) < 2 {
		return nil, ""
	}
	for _, s := range log.Scales {
		key := strings.Join([]string{s.Analyte, s.Unit, s.Basis}, ",")
		name := s.Analyte
		if s.Unit != "" && slices.ContainsFunc(log.Scales, func(o unit.Scale) bool { return o != s && o.Analyte == s.Analyte }) {
			name += ", " + s.String()
		}
		if name == "" {
			name = "by methods without a record"
		}
		if s == log.Scale {
			of = key
		}
		q := url.Values{}
		maps.Copy(q, more)
		q.Set("of", key)
		links = append(links, analyteLink{at + "?" + q.Encode(), name, s == log.Scale})
	}
	return links, of
}

// rows are the results as they were said, and as they are expressed now.
func (p *historyPage) rows(as render.Reader, h history.History, log bench.WaterLog) {
	for _, x := range slices.Backward(h.Results) {
		if len(p.Rows) == mostRows {
			p.More = true
			break
		}
		row := historyRow{When: x.At, Path: "/waters/earlier", By: x.Method, Lot: x.Lot, Reader: x.Reader, Text: report.AsRead(x.Entry), Said: as.Language.Say("an earlier log"), Standing: string(x.Standing)}
		if kept, there := log.By[x.Row]; there {
			if row.Path = "/records/" + render.ID(kept.Record); kept.Record == 0 {
				row.Path = "/curves/" + render.ID(kept.Curve)
			}
			row.Path += "/results/" + render.ID(kept.ID)
			row.Said = report.ReadingBrief(as.Language, as.Result(kept).Said())
		} else if x.Outcome != nil {
			row.Now = report.ReadingBrief(as.Language, *x.Outcome)
		} else {
			row.Now = as.Language.Say("no record")
		}
		if x.Standing == history.Stands {
			row.Standing = ""
		}
		if x.Again != nil {
			row.Now = report.ReadingBrief(as.Language, *x.Again)
		}
		if x.Doubt != nil {
			row.Doubt = report.SayIn(as.Language, *x.Doubt)
		}
		p.Rows = append(p.Rows, row)
	}
}

// compare reads the two spans that were picked.
func (p *historyPage) compare(as render.Reader, r *http.Request, turn unit.Turn, log bench.WaterLog) error {
	q := r.URL.Query()
	if q.Get("from") == "" {
		return nil
	}
	f := form.New()
	var days [4]time.Time
	var faults knownwater.Faults
	for i, key := range []string{"from", "until", "since", "to"} {
		f.Values.Set(key, q.Get(key))
		day, err := time.ParseInLocation(time.DateOnly, q.Get(key), time.Local)
		if err != nil {
			faults = append(faults, knownwater.Fault{Column: key, Found: fmt.Sprintf("%.20q", q.Get(key)), Want: "a day such as 2026-03-03"})
		}
		days[i] = day
	}
	p.Form = f
	if faults != nil && f.Refused(faults) {
		return nil
	}
	c, ok, err := history.Compare(log.Entries, log.Methods, p.Water.Spec.Name, history.Span{From: days[0], To: days[1]}, history.Span{From: days[2], To: days[3]})
	if err != nil {
		return err
	}
	if !ok {
		p.Compared = as.Language.Say("One of the two spans holds no result that is used.")
		return nil
	}
	p.Compared = report.SpanSays(as.Language, report.TurnedChange(c, turn.K), report.UnitBehind(turn.To))
	return nil
}

// needOf is the need on the scale of the results.
func needOf(needs []knownwater.NeedEntry, h history.History, name string) *chart.Stretch {
	scale, _ := h.ScaleOf(name)
	return needFor(calibrations.Result{Scale: scale}, needs)
}

// historyCSV is the log of a water as a table: every row as it was said, and as it is expressed now.
func (s *Pages) historyCSV(w http.ResponseWriter, r *http.Request) {
	water, err := s.Bench.Water(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	log, err := s.Bench.LogOfWater(r.Context(), water, scaleIn(r.URL.Query()))
	var h history.History
	if err == nil {
		h, err = s.Bench.WaterHistory(r.Context(), log)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	h.Results = slices.Clone(h.Results) // they are remembered as they are
	for i, x := range h.Results {
		if kept, there := log.By[x.Row]; there {
			said := kept.Said()
			if x.Again == nil && x.Outcome != nil && x.Outcome.Result.Estimate != said.Result.Estimate {
				h.Results[i].Again = x.Outcome // another version of the record reads it now
			}
			h.Results[i].Outcome = &said
		}
	}
	page.Download(w, "text/csv; charset=utf-8", "log-"+render.ID(water.ID)+".csv")
	if err := report.HistoryCSV(w, []history.History{h}); err != nil {
		s.Options.Log.Warn("a log was not sent whole", "error", err)
	}
}
