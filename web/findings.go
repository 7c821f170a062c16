package web

import (
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"knownwater/bench"
	"knownwater/report"
	"knownwater/science/assess"
)

// findingsPage is the report of the readings so far, with what a bench can add:
// the readings behind each number, and the findings both ways where readings
// were left out.
type findingsPage struct {
	Standing bench.Standing
	Dropped  []toldReading
	Body     template.HTML
	With     bool // those left out are in
	BothWays []bothWays
	Behind   []behindMethod
}

// bothWays is one verdict without and with the readings that were left out.
type bothWays struct{ Method, Need, Without, With string }

// behindMethod leads from a method's numbers to the readings behind them.
type behindMethod struct {
	Name  string
	N     int
	Query template.URL
	Cells []behindLevel
}

type behindLevel struct {
	Level float64
	N     int
	Mean  string
	Query template.URL
}

func (s *Server) findings(w http.ResponseWriter, r *http.Request) {
	ctx, by, id := r.Context(), whoIs(r), pathID(r, "id")
	with := r.URL.Query().Get("left-out") == "in"
	o := bench.FindingsOptions{WithExcluded: with, Version: s.opt.Version}
	standing, err := s.bench.Findings(ctx, by, id, o)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	body, err := reportBody(standing)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p := findingsPage{Standing: standing, Body: body, With: with, Behind: behind(standing.Findings)}
	if by.Role == bench.Owner {
		p.Body = linkLevels(body, p.Behind, "/trials/"+itoa(id)+"/readings?")
	}
	if p.Dropped, err = s.told(ctx, by, standing.Trial, standing.Dropped); err != nil {
		s.fail(w, r, err)
		return
	}
	if len(standing.Excluded) > 0 {
		o.WithExcluded = !with
		other, err := s.bench.Findings(ctx, by, id, o)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		without, both := standing.Findings, other.Findings
		if with {
			without, both = both, without
		}
		p.BothWays = verdictsBothWays(without, both)
	}
	s.show(w, r, http.StatusOK, "findings", frame{Title: "Findings: " + standing.Trial.Plan.Title, Part: "trials", Page: p})
}

func verdictsBothWays(without, with assess.Findings) []bothWays {
	type key struct {
		method   string
		dilution float64
		need     string
	}
	verdicts := map[key]string{}
	for _, m := range with.Methods {
		for _, n := range m.Needs {
			verdicts[key{m.Method, m.Dilution, n.Need}] = n.Verdict
		}
	}
	var out []bothWays
	for _, m := range without.Methods {
		for _, n := range m.Needs {
			name := m.Method
			if m.Dilution > 1 {
				name += " ×" + num(m.Dilution)
			}
			out = append(out, bothWays{name, n.Need, n.Verdict, verdicts[key{m.Method, m.Dilution, n.Need}]})
		}
	}
	return out
}

func behind(f assess.Findings) []behindMethod {
	var out []behindMethod
	for _, m := range f.Methods {
		q := url.Values{"method": {m.Method}, "dilution": {strconv.FormatFloat(m.Dilution, 'g', -1, 64)}}
		b := behindMethod{Name: m.Method, N: m.N, Query: template.URL(q.Encode())}
		if m.Dilution > 1 {
			b.Name += " ×" + num(m.Dilution)
		}
		for _, l := range m.Levels {
			q.Set("level", strconv.FormatFloat(l.Level, 'g', -1, 64))
			mean := "no best value"
			if l.Mean.OK() {
				mean = num(float64(l.Mean))
			} else if l.MeanLow.OK() && l.MeanHigh.OK() {
				mean = num(float64(l.MeanLow)) + " to " + num(float64(l.MeanHigh))
			}
			b.Cells = append(b.Cells, behindLevel{l.Level, l.N, mean, template.URL(q.Encode())})
		}
		out = append(out, b)
	}
	return out
}

func (s *Server) findingsJSON(w http.ResponseWriter, r *http.Request) {
	standing, err := s.bench.Findings(r.Context(), whoIs(r), pathID(r, "id"), bench.FindingsOptions{Version: s.opt.Version})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "application/json", "findings-"+itoa(standing.Trial.ID)+".json")
	if err := report.JSON(w, standing.Findings); err != nil {
		s.opt.Log.Error("findings", "err", err)
	}
}

// linkLevels makes every level in the report's table a link to the readings
// behind its row. The table's articles and rows stand in the order of the
// findings, so the n-th of one is the n-th of the other; where the page has
// another shape nothing is linked.
func linkLevels(body template.HTML, methods []behindMethod, readings string) template.HTML {
	before, table, found := strings.Cut(string(body), `<section class="leaf" id="levels">`)
	if !found {
		return body
	}
	table, after, _ := strings.Cut(table, "</section>")
	articles := strings.Split(table, `<article class="method">`)
	if len(articles) != len(methods)+1 {
		return body
	}
	const cell = `scope="row" class="num">`
	for i, m := range methods {
		rows := strings.Split(articles[i+1], cell)
		if len(rows) != len(m.Cells)+1 {
			return body
		}
		for j, c := range m.Cells {
			level, rest, _ := strings.Cut(rows[j+1], "</th>")
			rows[j+1] = `<a href="` + template.HTMLEscapeString(readings+string(c.Query)) + `">` + level + `</a></th>` + rest
		}
		articles[i+1] = strings.Join(rows, cell)
	}
	return template.HTML(before + `<section class="leaf" id="levels">` + strings.Join(articles, `<article class="method">`) + "</section>" + after)
}
