package start

import (
	"fmt"
	"net/http"

	"knownwater/intake"
	"knownwater/web/form"
)

// columnChoices are what a column may be, in words, the likeliest first.
var columnChoices = []columnChoice{
	{intake.ColumnOut, "of no account"}, {"method", "the method’s name"}, {"level", "what the known holds"}, {"reading", "what was read"},
	{intake.ColumnMethod, "a method: its readings"}, {"reader", "who read it"}, {"unit", "the unit"}, {"basis", "the basis: NO3 or N"}, {"u_level", "doubt of the known (k = 1)"}, {"u_shared", "its part that all knowns share"},
	{"vial", "the vial"}, {"lot", "the lot of reagent"}, {"session", "the session"}, {"technique", "how carefully"}, {"dilution", "diluted how many times"},
	{"u_dilution", "doubt of the dilution, relative"}, {"matrix", "the water of the knowns"}, {"analyte", "what was tested"}, {"replicate", "which repeat"},
	{"taken_at", "when"}, {"note", "a note"},
}

// called is what the columns of a table are: what the form says of this header, else
// what was said of it before. header are its headings.
func (s *Pages) called(r *http.Request, f *form.Form, src intake.Source) (called map[string]string, header []string, err error) {
	seen, _ := intake.Options{Sheet: f.Text("sheet"), Stop: r.Context().Err}.Columns(src)
	for _, c := range seen {
		header = append(header, c.Text)
	}
	if called = said(f, header); called != nil {
		return called, header, nil
	}
	called, err = s.Bench.ColumnsOf(r.Context(), header)
	return called, header, err
}

// said is what the form says of a header; nil where its fields are those of another.
func said(f *form.Form, header []string) map[string]string {
	var out map[string]string
	for i, text := range header {
		as := f.Get(fmt.Sprint("as_", i))
		if as == "" || f.Get(fmt.Sprint("head_", i)) != text {
			return nil
		}
		if out == nil {
			out = map[string]string{}
		}
		out[text] = as
	}
	return out
}

// mostColumnsAsked bounds the columns that are asked about.
const mostColumnsAsked = 40

// columns puts a field for each column of the table.
func (p *readingsPage) columns(o intake.Options, src intake.Source) {
	seen, clear := o.Columns(src)
	p.Asked, p.Choices = !clear, columnChoices
	for i, c := range seen[:min(len(seen), mostColumnsAsked)] {
		p.Columns = append(p.Columns, columnSeen{fmt.Sprint(i), c.Text, c.As})
	}
}
