package intake

import "strings"

// A table whose columns are not understood is asked about: a person says what each
// of them is, by its heading.

// What a column may be said to be beside the names of columns.
const (
	ColumnOut    = "-" // of no account
	ColumnMethod = "*" // a method: its readings stand in it
)

// ColumnSeen is a column of a table: its heading, and what it is taken for.
type ColumnSeen struct {
	Text string
	As   string // a column's name, ColumnMethod or ColumnOut
}

// Columns are the columns of a table of readings, as its header names them and as
// they are understood; clear is false where that is not enough to read the table.
func (o Options) Columns(readings Source) (columns []ColumnSeen, clear bool) {
	return o.columnsBy(readings, readingsLayout)
}

func (o Options) columnsBy(src Source, l layout) (columns []ColumnSeen, clear bool) {
	sh, faults := src.open(l, o)
	if sh == nil || sh.columns == 0 || sh.columns > mostColumns {
		return nil, false
	}
	for _, h := range sh.headings {
		as := h.column
		switch {
		case as != "" || h.text == "":
		case sh.shape == wideTable && !h.out && !isComputed(h.name):
			as = ColumnMethod
		default:
			as = ColumnOut
		}
		columns = append(columns, ColumnSeen{h.text, as})
	}
	return columns, faults == nil
}

// said is what somebody said that a heading is.
func (l layout) said(text string) (as string, ok bool) {
	as, ok = l.called[strings.TrimSpace(text)]
	return as, ok && (as == ColumnOut || as == ColumnMethod || l.names(as))
}
