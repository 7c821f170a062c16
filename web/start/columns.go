package start

import (
	"net/http"

	"knownwater/intake"
	"knownwater/web/form"
)

// columnChoices are what a column may be, in words, the likeliest first.
var columnChoices = []form.ColumnChoice{
	{As: intake.ColumnOut, Says: "of no account"}, {As: "method", Says: "the method’s name"}, {As: "level", Says: "what the known holds"}, {As: "reading", Says: "what was read"},
	{As: intake.ColumnMethod, Says: "a method: its readings"}, {As: "reader", Says: "who read it"}, {As: "unit", Says: "the unit"}, {As: "basis", Says: "the basis: NO3 or N"}, {As: "u_level", Says: "doubt of the known (k = 1)"}, {As: "u_shared", Says: "its part that all knowns share"}, {As: "u_background", Says: "its part from the water’s background"},
	{As: "nitrite", Says: "nitrite in the known, mg/L NO2"}, {As: "u_nitrite", Says: "doubt of that nitrite (k = 1)"},
	{As: "vial", Says: "the vial"}, {As: "lot", Says: "the lot of reagent"}, {As: "session", Says: "the session"}, {As: "technique", Says: "how carefully"}, {As: "dilution", Says: "diluted how many times"},
	{As: "u_dilution", Says: "doubt of the dilution, relative"}, {As: "matrix", Says: "the water of the knowns"}, {As: "analyte", Says: "what was tested"}, {As: "replicate", Says: "which repeat"},
	{As: "taken_at", Says: "when"}, {As: "note", Says: "a note"},
}

// called is what the columns of a table are: what the form says of this header, else
// what was said of it before. header are its headings.
func (s *Pages) called(r *http.Request, f *form.Form, src intake.Source) (called map[string]string, header []string, err error) {
	seen, _ := intake.Options{Sheet: f.Text("sheet"), Stop: r.Context().Err}.Columns(src)
	for _, c := range seen {
		header = append(header, c.Text)
	}
	if called = f.ColumnsSaid(header); called != nil {
		return called, header, nil
	}
	called, err = s.Bench.ColumnsOf(r.Context(), header)
	return called, header, err
}

// columns puts a field for each column of the table.
func (p *readingsPage) columns(o intake.Options, src intake.Source) {
	seen, clear := o.Columns(src)
	p.Asked, p.Choices, p.Columns = !clear, columnChoices, form.Columns(seen)
}
