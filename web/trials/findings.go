package trials

import (
	"bytes"
	"html/template"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/doubt"
	"knownwater/science/note"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// findingsPage is the report of the readings so far, with what a bench can add:
// the readings behind each number, and the findings both ways where readings
// were left out.
type findingsPage struct {
	Found    trials.TrialFindings
	Dropped  []readingRow
	Body     template.HTML
	With     bool // those left out are in
	BothWays []bothWays
	Same     int // verdicts that are the same both ways
	Behind   []behindMethod
}

// bothWays is a verdict that hangs on the readings that were left out.
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
	Query template.URL
}

func (s *Pages) findings(w http.ResponseWriter, r *http.Request) {
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	with := r.URL.Query().Get("left-out") == "in"
	o := trials.FindingsOptions{WithExcluded: with, Version: s.Options.Version}
	found, ok := s.findingsOr(w, r, o)
	if !ok {
		return
	}
	as := s.ReaderOn(r, "findings")
	l := as.Language
	told := report.Page{Findings: found.Findings, Trial: found.Data, Language: l, Units: as.Units.Turn}
	if by.Role == knownwater.Owner {
		told.Behind = func(m assess.MethodFinding, level float64, text string) string {
			return "/trials/" + render.ID(id) + "/readings?" + behindOf(m, &level, text)
		}
	}
	if by.Role == knownwater.Owner {
		told.Answer = "/trials/" + render.ID(id) + "/answers"
	}
	found.Answers = answersIn(l, found)
	p := findingsPage{Found: found, With: with, Behind: behind(found.Findings)}
	var err error
	if p.Body, err = told.Body(); err != nil {
		s.Fail(w, r, err)
		return
	}
	if p.Dropped, err = s.withReasons(ctx, by, found.Trial, found.Dropped); err != nil {
		s.Fail(w, r, err)
		return
	}
	if len(found.Excluded) > 0 {
		o.WithExcluded = !with
		other, ok := s.findingsOr(w, r, o)
		if !ok {
			return
		}
		without, both := found.Findings, other.Findings
		if with {
			without, both = both, without
		}
		p.BothWays, p.Same = verdictsBothWays(without, both)
	}
	s.Show(w, r, http.StatusOK, "findings", page.Frame{Title: l.Say("Findings: {1}", found.Trial.Plan.Title), Part: "trials", Page: p})
}

// answered are the words of an answer where it is told in another language.
var answered = map[string]string{trials.AnswerYes: wording.Key("an answer: yes"), trials.AnswerNo: wording.Key("an answer: no")}

var askedWater = wording.Key("Which salinity and temperature had the water?")

// answersIn are the answers that were given, with the questions in a language where the
// findings still ask or answer them: what was kept is the English in which it was recorded.
func answersIn(l *wording.Language, found trials.TrialFindings) []trials.Answer {
	if l.English() {
		return found.Answers
	}
	out := slices.Clone(found.Answers)
	for i, a := range out {
		method, says := "", note.Note{}
		if q, ok := trials.Asked(found.Findings, a.Question); ok {
			method, says = q.Method, q.Says
		}
		for _, q := range found.Findings.Answers {
			if q.Question == a.Question && q.Answer != doubt.NotAsked {
				method, says = q.Method, q.Says
			}
		}
		if says.Code != "" {
			if out[i].Says = report.SayIn(l, says); method != "" {
				out[i].Says = method + ": " + out[i].Says
			}
		}
		if says.Code == "" && a.Water != nil && l.Has(askedWater) { // once it is stated nothing asks for it
			out[i].Says = l.Say(askedWater)
		}
		if word := answered[a.Word]; l.Has(word) {
			out[i].Word = l.Say(word)
		}
	}
	return out
}

// namesOut says that readers' names are to be left out.
func namesOut(r *http.Request) bool { return r.URL.Query().Get("names") == "out" }

// verdictsBothWays are the verdicts that differ, and how many do not.
func verdictsBothWays(without, with assess.Findings) (differ []bothWays, same int) {
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
	for _, m := range without.Methods {
		for _, n := range m.Needs {
			other := verdicts[key{m.Method, m.Dilution, n.Need}]
			if other == n.Verdict {
				same++
				continue
			}
			name := m.Method
			if m.Dilution > 1 {
				name += " ×" + render.Number(m.Dilution)
			}
			differ = append(differ, bothWays{name, n.Need, n.Verdict, other})
		}
	}
	return differ, same
}

func behind(f assess.Findings) []behindMethod {
	var out []behindMethod
	for _, m := range f.Methods {
		b := behindMethod{Name: m.Method, N: m.N, Query: template.URL(behindOf(m, nil, ""))}
		if m.Dilution > 1 {
			b.Name += " ×" + render.Number(m.Dilution)
		}
		for _, l := range m.Levels {
			b.Cells = append(b.Cells, behindLevel{l.Level, l.N, template.URL(behindOf(m, &l.Level, ""))})
		}
		out = append(out, b)
	}
	return out
}

// behindOf asks for the readings of a method, or of one of its levels, or those of
// them that were read as text.
func behindOf(m assess.MethodFinding, level *float64, text string) string {
	q := url.Values{"method": {m.Method}, "dilution": {strconv.FormatFloat(m.Dilution, 'g', -1, 64)}}
	if level != nil {
		q.Set("level", strconv.FormatFloat(*level, 'g', -1, 64))
	}
	if text != "" {
		q.Set("text", text)
	}
	return q.Encode()
}

// findingsFile gives the findings out as a table or a workbook, or their
// figures, by the end of the address.
func (s *Pages) findingsFile(w http.ResponseWriter, r *http.Request) {
	found, err := s.Bench.Findings(r.Context(), page.WhoIs(r), form.PathID(r, "id"), trials.FindingsOptions{HideNames: namesOut(r), Version: s.Options.Version})
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var b bytes.Buffer // whole before the first byte goes out
	name, kind := "findings-"+render.ID(found.Trial.ID), path.Ext(r.URL.Path)
	switch kind {
	case ".csv":
		err = report.CSV(&b, found.Findings)
	case ".xlsx":
		err = report.XLSX(&b, found.Findings, found.Data)
	default:
		name, err = "figures-"+render.ID(found.Trial.ID), report.Figures(&b, found.Findings, found.Data)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, map[string]string{".csv": "text/csv; charset=utf-8", ".zip": "application/zip",
		".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}[kind], name+kind)
	w.Write(b.Bytes())
}

func (s *Pages) findingsJSON(w http.ResponseWriter, r *http.Request) {
	found, err := s.Bench.Findings(r.Context(), page.WhoIs(r), form.PathID(r, "id"), trials.FindingsOptions{HideNames: namesOut(r), Version: s.Options.Version})
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "application/json", "findings-"+render.ID(found.Trial.ID)+".json")
	if err := report.JSON(w, found.Findings); err != nil {
		s.Options.Log.Error("findings", "err", err)
	}
}
