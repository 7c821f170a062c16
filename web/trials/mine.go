package trials

import (
	"context"
	"crypto/rand"
	"net/http"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// minePage is what one reader has read, for looking and for correcting.
type minePage struct {
	Trial trials.Trial
	Rows  []mineRow
	Wrong int64 // the reading whose correction was refused
	Form  *form.Form
}

type mineRow struct {
	Code, Method string
	Vial         int64
	NewKey       string // for a correction sent twice by a slow phone
	trials.Mine
}

func (s *Pages) mine(w http.ResponseWriter, r *http.Request) {
	s.showMine(w, r, http.StatusOK, 0, &form.Form{})
}

func (s *Pages) showMine(w http.ResponseWriter, r *http.Request, status int, wrong int64, f *form.Form) {
	t, rows, err := s.mineOf(r.Context(), page.WhoIs(r), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "mine", page.Frame{Heading: "What I have read", Part: "trials", Page: minePage{t, rows, wrong, f}})
}

// mineOf are the readings of by.Person over all sessions of a trial.
func (s *Pages) mineOf(ctx context.Context, by knownwater.Who, id int64) (trials.Trial, []mineRow, error) {
	t, err := s.Bench.Trial(ctx, by, id)
	if err != nil {
		return t, nil, err
	}
	var rows []mineRow
	for session := 1; session <= max(1, t.Plan.Sessions); session++ {
		run, err := s.Bench.Run(ctx, by, id, session)
		if err != nil {
			return t, nil, err
		}
		rows = append(rows, mineRows(run)...)
	}
	return t, rows, nil
}

func mineRows(run trials.Run) []mineRow {
	names := map[int64]string{}
	for _, m := range run.Methods {
		names[m.VersionID] = m.Spec.Name
	}
	var out []mineRow
	for _, v := range run.Vials {
		for _, m := range v.Mine {
			out = append(out, mineRow{v.Code, names[v.Method], v.ID, rand.Text(), m})
		}
	}
	return out
}

// correctMine supersedes one of the reader's own readings, with a reason. What
// was seen stays as old as it is: only its record changes.
func (s *Pages) correctMine(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f.Points(page.Reader(r).Comma(), "text")
	_, rows, err := s.mineOf(r.Context(), page.WhoIs(r), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	old, ok := namedRow(rows, f.IDs("reading"))
	if !ok {
		s.Refuse(w, r, http.StatusNotFound, "That reading is not among yours, or was corrected already.", "Open the list again.")
		return
	}
	n := trials.NewReading{Key: f.Text("key"), Vial: old.Vial, Text: f.Text("text"), Dilution: old.Dilution, Replicate: old.Replicate,
		Flags: old.Flags, Note: f.Text("note"), ReadAt: old.ReadAt}
	_, err = s.Bench.CorrectReading(r.Context(), page.WhoIs(r), old.ID, n, f.Text("why"))
	if f.Refused(err) {
		s.showMine(w, r, http.StatusUnprocessableEntity, old.ID, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Corrected. The first reading stays in the records, with your reason.")
	http.Redirect(w, r, "/trials/"+render.ID(form.PathID(r, "id"))+"/mine", http.StatusSeeOther)
}

func namedRow(rows []mineRow, ids []int64) (mineRow, bool) {
	for _, row := range rows {
		if len(ids) > 0 && row.ID == ids[0] {
			return row, true
		}
	}
	return mineRow{}, false
}
