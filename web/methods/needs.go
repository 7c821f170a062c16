package methods

import (
	"fmt"
	"net/http"
	"regexp"
	"strings"

	"knownwater"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
)

type needsPage struct {
	Needs    []knownwater.NeedEntry
	Form     *form.Form
	One      int64 // being changed; 0: a new one
	Analytes []string
}

func (s *Pages) needs(w http.ResponseWriter, r *http.Request) {
	f := &form.Form{Values: map[string][]string{"analyte": {"nitrate"}}}
	var one int64
	if r.PathValue("id") != "" {
		n, err := s.Bench.Need(r.Context(), form.PathID(r, "id"))
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		one, f = n.ID, needForm(n)
	}
	s.showNeeds(w, r, http.StatusOK, one, f)
}

func (s *Pages) showNeeds(w http.ResponseWriter, r *http.Request, status int, one int64, f *form.Form) {
	all, err := s.Bench.Needs(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "needs", page.Frame{Title: "Needs", Part: "needs", Page: needsPage{all, f, one, unit.Analytes()}})
}

func (s *Pages) saveNeed(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	want := "write a number such as 0.5"
	n := knownwater.NeedEntry{Scale: f.Scale(), Retired: f.Ticked("retired"), Need: knownwater.Need{Name: f.Text("name"),
		Low: f.Number("low", want), High: f.Number("high", want), Permitted: readPermitted(f),
		TestsAMonth: f.Number("tests_a_month", want), MinutesAtMost: f.Number("minutes_at_most", want), MoneyAYear: f.Number("money_a_year", want)}}
	if ids := f.IDs("id"); len(ids) > 0 {
		n.ID = ids[0]
	}
	if !f.Bad() {
		_, err = s.Bench.SaveNeed(r.Context(), page.WhoIs(r), n)
	}
	if f.Refused(err) {
		s.showNeeds(w, r, http.StatusUnprocessableEntity, n.ID, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "The need “"+n.Need.Name+"” is kept.")
	http.Redirect(w, r, "/needs", http.StatusSeeOther)
}

var permit = regexp.MustCompile(`^(?:at )?([^ ±:]+) *(?:±|\+-|\+/-|:| ) *([^ ]+)$`)

// readPermitted reads one line a point: "at 2 ± 0.5".
func readPermitted(f *form.Form) []knownwater.Permit {
	var out []knownwater.Permit
	for i, line := range form.Lines(f.Get("permitted")) {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		var at, e float64
		m := permit.FindStringSubmatch(line)
		err := fmt.Errorf("unread")
		if m != nil {
			if at, err = form.ParseNumber(m[1]); err == nil {
				e, err = form.ParseNumber(m[2])
			}
		}
		if err != nil {
			f.AddFault(knownwater.Fault{Row: i + 1, Column: "permitted", Found: "“" + line + "”",
				Want: "one point a line, a concentration and the error permitted there: at 2 ± 0.5"})
			continue
		}
		out = append(out, knownwater.Permit{At: at, Error: e})
	}
	return out
}

func needForm(n knownwater.NeedEntry) *form.Form {
	f := &form.Form{Values: map[string][]string{}}
	f.Set("name", n.Need.Name)
	f.Set("analyte", n.Scale.Analyte)
	f.Set("unit", n.Scale.Unit)
	f.Set("basis", n.Scale.Basis)
	f.Set("low", form.Exactly(n.Need.Low))
	f.Set("high", form.Exactly(n.Need.High))
	f.Set("tests_a_month", form.Shown(n.Need.TestsAMonth))
	f.Set("minutes_at_most", form.Shown(n.Need.MinutesAtMost))
	f.Set("money_a_year", form.Shown(n.Need.MoneyAYear))
	var points []string
	for _, p := range n.Need.Permitted {
		points = append(points, "at "+form.Exactly(p.At)+" ± "+form.Exactly(p.Error))
	}
	f.Set("permitted", strings.Join(points, "\n"))
	if n.Retired {
		f.Set("retired", "yes")
	}
	return f
}
