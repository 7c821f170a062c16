package form

import (
	"fmt"

	"knownwater/intake"
)

// Column is a column of a table with the fields that say what it is.
type Column struct{ Field, Text, As string }

// ColumnChoice is one thing that a column may be.
type ColumnChoice struct{ As, Says string }

// mostColumnsAsked bounds the columns that are asked about.
const mostColumnsAsked = 40

// Columns are the fields for each column of a table.
func Columns(seen []intake.ColumnSeen) (out []Column) {
	for i, c := range seen[:min(len(seen), mostColumnsAsked)] {
		out = append(out, Column{fmt.Sprint(i), c.Text, c.As})
	}
	return out
}

// ColumnsSaid is what the form says of a header; nil where its fields are those of another.
func (f *Form) ColumnsSaid(header []string) map[string]string {
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
