package web

import (
	"math"
	"net/http"
	"strings"

	"knownwater"
	"knownwater/bench"
	"knownwater/science/known"
)

// additionsView is what standard additions say of a water.
type additionsView struct {
	Estimate known.Background
	Method   bench.Method
	Told     bool // there is an estimate
}

// additions estimates what a salt water holds itself from readings after known
// additions, and keeps it as the water's next version when asked to.
func (s *Server) additions(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	ctx := r.Context()
	x, err := s.bench.Item(ctx, pathID(r, "id"))
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if x.Spec.Kind != bench.WaterItem {
		s.notFound(w, r)
		return
	}
	a := readAdditions(f)
	p := itemPage{Kind: x.Spec.Kind, Old: x, Form: itemForm(x.Spec), Additions: f}
	keep := f.Get("do") == "keep"
	if len(f.faults) == 0 && keep {
		_, err = s.bench.KeepBackground(ctx, whoIs(r), x.ID, a)
	} else if len(f.faults) == 0 {
		v := &additionsView{}
		v.Estimate, v.Method, err = s.bench.EstimateBackground(ctx, a)
		v.Told = !math.IsNaN(v.Estimate.Value)
		p.Estimate = v
	}
	if s.formFaults(f, err) {
		p.Estimate = nil
		s.showItem(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if keep {
		s.tell(r, "Kept: standards that are planned from now on count with it.")
		http.Redirect(w, r, "/knowns/shelf/"+itoa(x.ID), http.StatusSeeOther)
		return
	}
	s.showItem(w, r, http.StatusOK, p)
}

// readAdditions reads one reading a line: what was added, and what was read.
func readAdditions(f *form) bench.Additions {
	a := bench.Additions{Zero: f.number("zero", aNumber), UZero: f.number("u_zero", aNumber)}
	if ids := f.ids("method"); len(ids) > 0 {
		a.Method = ids[0]
	} else {
		f.wrong("method", "no method is chosen", "the method that read them")
	}
	for i, line := range lines(f.Get("additions")) {
		cells := strings.Fields(strings.ReplaceAll(line, ";", " "))
		if len(cells) == 0 {
			continue
		}
		added, err := parseNumber(cells[0])
		if err != nil || len(cells) != 2 {
			f.faults = append(f.faults, knownwater.Fault{Row: i + 1, Column: "additions", Found: "“" + strings.TrimSpace(line) + "”", Want: "what was added and what was read, such as: 2 2.33"})
			continue
		}
		a.Rows = append(a.Rows, bench.AdditionRow{Added: added, Text: cells[1]})
	}
	if len(a.Rows) == 0 && len(f.faults) == 0 {
		f.wrong("additions", "no reading", "one a line: what was added and what was read, such as: 2 2.33")
	}
	return a
}
