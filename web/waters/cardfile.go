package waters

import (
	"net/http"
	"time"

	"knownwater/report"
	"knownwater/web/form"
)

// cardFile is the counter card as a small file for another machine.
func (s *Pages) cardFile(w http.ResponseWriter, r *http.Request) {
	rec, cards, err := s.cardsOf(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	f := report.CardFile{Card: 1, Method: rec.Spec.Method, Analyte: rec.Spec.Scale.Analyte, Unit: rec.Spec.Scale.Unit, Basis: rec.Spec.Scale.Basis,
		Matrix: rec.Spec.Matrix, Trial: rec.Spec.Title, Made: rec.Made.At.Format(time.DateOnly), Inputs: rec.Spec.Inputs}
	if n := cards[0].Nitrite; n != nil && n.N > 0 {
		f.Nitrite = &report.CardNitrite{Factor: n.Factor, Low: n.Low, High: n.High}
	}
	for _, c := range cards {
		for _, row := range c.Rows {
			f.Rows = append(f.Rows, report.CardRowOf(row.Text, c.Dilution, "", row.Anybody.Result))
			for i, o := range row.ByReader {
				f.Rows = append(f.Rows, report.CardRowOf(row.Text, c.Dilution, c.Readers[i], o.Result))
			}
		}
	}
	w.Header().Set("Content-Disposition", `attachment; filename="card.json"`)
	s.WriteJSON(w, http.StatusOK, f)
}
