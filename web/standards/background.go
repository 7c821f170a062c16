package standards

import (
	"math"
	"net/http"
	"strings"

	"knownwater"
	"knownwater/bench/standards"
	"knownwater/science/known"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// additionsView is what standard additions say of a water.
type additionsView struct {
	Estimate known.Background
	Method   knownwater.MethodVersion
	Told     bool // there is an estimate
}

// additions estimates what a salt water holds itself from readings after known
// additions, and keeps it as the water's next version when asked to.
func (s *Pages) additions(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	ctx := r.Context()
	x, err := s.Bench.Item(ctx, form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if x.Spec.Kind != standards.WaterItem {
		s.NotFound(w, r)
		return
	}
	a := readAdditions(f)
	p := itemPage{Kind: x.Spec.Kind, Old: x, Form: itemForm(x.Spec), Additions: f}
	keep := f.Get("do") == "keep"
	if !f.Bad() && keep {
		_, err = s.Bench.KeepBackground(ctx, page.WhoIs(r), x.ID, a)
	} else if !f.Bad() {
		v := &additionsView{}
		v.Estimate, v.Method, err = s.Bench.EstimateBackground(ctx, a)
		v.Told = !math.IsNaN(v.Estimate.Value)
		p.Estimate = v
	}
	if f.Refused(err) {
		p.Estimate = nil
		s.showItem(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if keep {
		s.Tell(r, "Kept: standards that are planned from now on count with it.")
		http.Redirect(w, r, "/knowns/shelf/"+render.ID(x.ID), http.StatusSeeOther)
		return
	}
	s.showItem(w, r, http.StatusOK, p)
}

// readAdditions reads one reading a line: what was added, and what was read.
func readAdditions(f *form.Form) standards.Additions {
	a := standards.Additions{Zero: f.Number("zero", form.WantNumber), UZero: f.Number("u_zero", form.WantNumber)}
	if ids := f.IDs("method"); len(ids) > 0 {
		a.Method = ids[0]
	} else {
		f.Reject("method", "no method is chosen", "the method that read them")
	}
	for i, line := range form.Lines(f.Get("additions")) {
		cells := strings.Fields(strings.ReplaceAll(line, ";", " "))
		if len(cells) == 0 {
			continue
		}
		added, err := form.ParseNumber(cells[0])
		if err != nil || len(cells) != 2 {
			f.AddFault(knownwater.Fault{Row: i + 1, Column: "additions", Found: "“" + strings.TrimSpace(line) + "”", Want: "what was added and what was read, such as: 2 2.33"})
			continue
		}
		a.Rows = append(a.Rows, standards.AdditionRow{Added: added, Text: cells[1]})
	}
	if len(a.Rows) == 0 && !f.Bad() {
		f.Reject("additions", "no reading", "one a line: what was added and what was read, such as: 2 2.33")
	}
	return a
}
