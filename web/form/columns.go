package form

import (
	"fmt"
	"strconv"
	"strings"

	"knownwater/intake"
	"knownwater/wording"
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

// Sentences are the faults of a table, the first few of them.
func Sentences(l *wording.Language, err error, most int) []string {
	faults := FaultsOf(err)
	if faults == nil {
		return []string{err.Error()}
	}
	var out []string
	for i, x := range faults {
		if most > 0 && i == most {
			return append(out, l.Say("and {1} more like these", strconv.Itoa(len(faults)-i)))
		}
		x.File = ""
		out = append(out, strings.TrimSpace(Sentence(l, x)))
	}
	return out
}
