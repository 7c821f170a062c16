package web

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"

	"knownwater"
	"knownwater/bench"
	"knownwater/science/unit"
)

type needsPage struct {
	Needs    []bench.NeedEntry
	Form     *form
	One      int64 // being changed; 0: a new one
	Analytes []string
}

func (s *Server) needs(w http.ResponseWriter, r *http.Request) {
	f := &form{Values: map[string][]string{"analyte": {"nitrate"}, "unit": {"mg/L"}, "basis": {"NO3"}}}
	var one int64
	if r.PathValue("id") != "" {
		n, err := s.bench.Need(r.Context(), pathID(r, "id"))
		if err != nil {
			s.fail(w, r, err)
			return
		}
		one, f = n.ID, needForm(n)
	}
	s.showNeeds(w, r, http.StatusOK, one, f)
}

func (s *Server) showNeeds(w http.ResponseWriter, r *http.Request, status int, one int64, f *form) {
	all, err := s.bench.Needs(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, status, "needs", frame{Title: "Needs", Part: "needs", Page: needsPage{all, f, one, unit.Analytes()}})
}

func (s *Server) saveNeed(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	want := "write a number such as 0.5"
	n := bench.NeedEntry{Scale: f.scale(), Retired: f.ticked("retired"), Need: knownwater.Need{Name: f.text("name"),
		Low: f.number("low", want), High: f.number("high", want), Permitted: readPermitted(f),
		TestsAMonth: f.number("tests_a_month", want), MinutesAtMost: f.number("minutes_at_most", want), MoneyAYear: f.number("money_a_year", want)}}
	if ids := f.ids("id"); len(ids) > 0 {
		n.ID = ids[0]
	}
	if len(f.faults) == 0 {
		_, err = s.bench.SaveNeed(r.Context(), whoIs(r), n)
	}
	if s.formFaults(f, err) {
		s.showNeeds(w, r, http.StatusUnprocessableEntity, n.ID, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "The need “"+n.Need.Name+"” is kept.")
	http.Redirect(w, r, "/needs", http.StatusSeeOther)
}

var permit = regexp.MustCompile(`^(?:at )?([^ ±:]+) *(?:±|\+-|\+/-|:| ) *([^ ]+)$`)

// readPermitted reads one line a point: "at 2 ± 0.5".
func readPermitted(f *form) []knownwater.Permit {
	var out []knownwater.Permit
	for i, line := range lines(f.Get("permitted")) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		var at, e float64
		m := permit.FindStringSubmatch(line)
		err := fmt.Errorf("unread")
		if m != nil {
			if at, err = parseNumber(m[1]); err == nil {
				e, err = parseNumber(m[2])
			}
		}
		if err != nil {
			f.faults = append(f.faults, knownwater.Fault{Row: i + 1, Column: "permitted", Found: "“" + line + "”",
				Want: "one point a line, a concentration and the error permitted there: at 2 ± 0.5"})
			continue
		}
		out = append(out, knownwater.Permit{At: at, Error: e})
	}
	return out
}

func needForm(n bench.NeedEntry) *form {
	f := &form{Values: map[string][]string{}}
	f.Set("name", n.Need.Name)
	f.Set("analyte", n.Scale.Analyte)
	f.Set("unit", n.Scale.Unit)
	f.Set("basis", n.Scale.Basis)
	f.Set("low", exactly(n.Need.Low))
	f.Set("high", exactly(n.Need.High))
	f.Set("tests_a_month", shown(n.Need.TestsAMonth))
	f.Set("minutes_at_most", shown(n.Need.MinutesAtMost))
	f.Set("money_a_year", shown(n.Need.MoneyAYear))
	var points []string
	for _, p := range n.Need.Permitted {
		points = append(points, "at "+exactly(p.At)+" ± "+exactly(p.Error))
	}
	f.Set("permitted", strings.Join(points, "\n"))
	if n.Retired {
		f.Set("retired", "yes")
	}
	return f
}
