package trials

import (
	"html/template"
	"net/http"
	"strconv"

	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

type labelsPage struct {
	Trial  trials.Trial
	Labels []labelView
}

type labelView struct {
	trials.Label
	QR template.HTML
}

// labels is a sheet to print and cut. The QR code holds the vial's code and
// nothing else.
func (s *Pages) labels(w http.ResponseWriter, r *http.Request) {
	id := form.PathID(r, "id")
	t, err := s.Bench.Trial(r.Context(), page.WhoIs(r), id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	all, err := s.Bench.Labels(r.Context(), id, sessionOf(r))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := labelsPage{Trial: t}
	for _, l := range all {
		code, err := render.QRCode(l.Code)
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		p.Labels = append(p.Labels, labelView{l, code})
	}
	s.Show(w, r, http.StatusOK, "labels", page.Frame{Heading: "Labels: {1}", Of: []string{t.Plan.Title}, Part: "trials", Page: p})
}

// sessionOf is the session that a page is asked for; 0 is all.
func sessionOf(r *http.Request) int {
	n, err := strconv.Atoi(r.URL.Query().Get("session"))
	if err != nil || n < 0 {
		return 0
	}
	return n
}

type sheetPage struct {
	Trial  trials.Trial
	Sheets []readerSheet
}

// readerSheet is what one reader reads: nobody sees what another wrote.
type readerSheet struct {
	Reader string
	Rows   []trials.SheetRow
}

// sheetsOf deals the rows out to their readers, in the order in which they
// first come up.
func sheetsOf(rows []trials.SheetRow) (out []readerSheet) {
	at := map[string]int{}
	for _, row := range rows {
		for _, name := range row.Readers {
			i, known := at[name]
			if !known {
				i = len(out)
				at[name], out = i, append(out, readerSheet{Reader: name})
			}
			out[i].Rows = append(out[i].Rows, row)
		}
	}
	return out
}

// sheet is the run sheet on paper, one for each reader: no level stands on it.
func (s *Pages) sheet(w http.ResponseWriter, r *http.Request) {
	id := form.PathID(r, "id")
	t, err := s.Bench.Trial(r.Context(), page.WhoIs(r), id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	rows, err := s.Bench.RunSheet(r.Context(), id, sessionOf(r))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "sheet", page.Frame{Heading: "Run sheet: {1}", Of: []string{t.Plan.Title}, Part: "trials", Page: sheetPage{t, sheetsOf(rows)}})
}

type prepPage struct {
	Trial trials.Trial
	Rows  []trials.PrepRow
	Late  []string // about dates of the standards
}

// preparation shows the key to whoever fills the vials. It is a POST because
// the look is written down.
func (s *Pages) preparation(w http.ResponseWriter, r *http.Request) {
	ctx, id := r.Context(), form.PathID(r, "id")
	t, err := s.Bench.Trial(ctx, page.WhoIs(r), id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	rows, err := s.Bench.PrepList(ctx, page.WhoIs(r), id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	late, err := s.Bench.LateStandards(ctx, page.WhoIs(r), id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	s.Show(w, r, http.StatusOK, "preparation", page.Frame{Heading: "Preparation list: {1}", Of: []string{t.Plan.Title}, Part: "trials", Page: prepPage{t, rows, report.SayAll(late)}})
}
