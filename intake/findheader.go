package intake

import (
	"bytes"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// candidate is a row that may be the header.
type candidate struct {
	row, columns int
	headings     []heading
	shape        shape
	hits         int
	above        []string
	nAbove       int
	faults       knownwater.Faults
}

// findHeader looks for the first row that can be a header; where none can, the
// one that names most columns, and where none names any, the first.
func (sh *sheet) findHeader(each func(visitor) knownwater.Faults) (best candidate) {
	var above []string
	looked := 0
	best.faults = each(func(row int, cells [][]byte, n int) bool {
		if blank(cells) {
			return true
		}
		c := candidate{row: row, columns: n, above: slices.Clip(above), nAbove: looked}
		for sh.book != nil && len(cells) > 0 && len(trim(cells[len(cells)-1])) == 0 { // a format is enough to store an empty cell
			cells = cells[:len(cells)-1]
			c.columns = len(cells)
		}
		for _, t := range cells {
			c.headings = append(c.headings, sh.layout.heading(string(trim(t))))
		}
		if n > mostColumns {
			c.columns = n
		}
		c.shape, c.hits = sh.layout.shapeOf(c.headings)
		switch {
		case c.shape != noHeader:
			best = c
			return false
		case best.row == 0, c.hits > best.hits && c.hits > 1:
			best = c
		}
		if len(above) < 3 {
			above = append(above, short(strings.Join(strings.Fields(string(bytes.Join(cells, []byte{' '}))), " ")))
		}
		looked++
		return looked < mostAbove
	})
	return best
}

func (c candidate) use(sh *sheet) knownwater.Faults {
	sh.headerRow, sh.columns, sh.headings, sh.shape = c.row, c.columns, c.headings, c.shape
	sh.above, sh.nAbove = c.above, c.nAbove
	if c.row == 0 {
		return c.faults
	}
	return nil
}

// sepLine is the first line by which a spreadsheet is told the separator.
var sepLine = []byte("sep=")

// csvHeader takes the separator under which a row names most columns.
func (sh *sheet) csvHeader() knownwater.Faults {
	seps := []byte{',', ';', '\t'}
	head := sh.text
	if sh.pieces != nil {
		head = sh.pieces.head
	}
	first, _, _ := bytes.Cut(head[:min(len(head), 100)], []byte{'\n'})
	if line := bytes.Trim(bytes.ToLower(trimCR(first)), `" `); bytes.HasPrefix(line, sepLine) && len(line) == len(sepLine)+1 {
		seps = []byte{line[len(sepLine)]}
	}
	best, bestSep, found := -1, byte(0), candidate{}
	var broken knownwater.Faults
	for _, sep := range seps {
		sh.sep = sep
		c := sh.findHeader(sh.looseRows)
		if c.row == 0 {
			if broken == nil {
				broken = c.faults
			}
			continue
		}
		// Where nothing is known, the separator that cuts most is the likely one.
		score := c.hits*mostColumns*10 + min(c.columns, mostColumns+1)
		if c.shape != noHeader {
			score += mostColumns * mostColumns * 10
		}
		if score > best {
			best, bestSep, found = score, sep, c
		}
	}
	if best < 0 {
		return broken
	}
	sh.sep = bestSep
	return found.use(sh)
}

// looseRows visits the rows of a CSV text, however many cells they have.
func (sh *sheet) looseRows(visit visitor) knownwater.Faults {
	r := sh.rows(mostColumns + 1)
	var first knownwater.Faults
	for bad := 0; bad < mostAbove; {
		switch cells, n, fault := r.next(); {
		case fault != nil:
			if bad++; first == nil {
				first = knownwater.Faults{*fault}
			}
		case n == 0 || !visit(r.line, cells, n):
			return first
		}
	}
	return first
}

func (sh *sheet) checkHeader() knownwater.Faults {
	wanted := strings.Join(sh.layout.wanted, ", ")
	switch n := sh.columns; {
	case n == 0:
		return sh.src.refuse(0, "", "an empty file", "a header row with %s, and a row for each line of data", wanted)
	case n > mostColumns:
		return sh.src.refuse(sh.headerRow, "", "%d columns", "at most %d", n, mostColumns)
	}
	fs := sh.settleNames()
	switch sh.shape {
	case noHeader:
		for _, name := range sh.layout.wanted {
			if sh.column(name) < 0 {
				header := reading.Quote(strings.Join(sh.header(), string(rune(max(sh.sep, ' ')))))
				sheets := sh.book != nil && len(sh.book.sheets) > 1 && sh.opt.Sheet == ""
				f := knownwater.Fault{Found: "no such column in the header %s", Want: "a header row with %s, separated by comma, semicolon or tab"}.Of(header, wanted)
				switch {
				case sheets && sh.layout.asked:
					f = knownwater.Fault{Found: "no such column in the header %s", Want: "a header row with %s, separated by comma, semicolon or tab; another sheet is chosen with --sheet; or say which heading it is: --column HEADING=%s"}.Of(header, wanted, name)
				case sheets:
					f = knownwater.Fault{Found: "no such column in the header %s", Want: "a header row with %s, separated by comma, semicolon or tab; another sheet is chosen with --sheet"}.Of(header, wanted)
				case sh.layout.asked:
					f = knownwater.Fault{Found: "no such column in the header %s", Want: "a header row with %s, separated by comma, semicolon or tab; or say which heading it is: --column HEADING=%s"}.Of(header, wanted, name)
				}
				fs = append(fs, sh.src.at(sh.headerRow, name, f))
			}
		}
	case oneMethod:
		if sh.opt.Method == "" {
			fs = append(fs, sh.src.fault(sh.headerRow, "method", "no such column, so that nobody knows which method read this",
				"a column method, or the method's name with --method"))
		}
	}
	return fs
}

// settleNames sees that each column stands once: a synonym gives way to the
// column's own name.
func (sh *sheet) settleNames() (fs knownwater.Faults) {
	at := map[string]int{}
	for i := range sh.headings {
		h := &sh.headings[i]
		if h.column == "" {
			continue
		}
		j, twice := at[h.column]
		if !twice {
			at[h.column] = i
			continue
		}
		other := &sh.headings[j]
		own, others := sh.layout.ownName(*h), sh.layout.ownName(*other)
		switch {
		case own && !others && sh.shape != wideTable:
			other.column, at[h.column] = "", i
		case others && !own && sh.shape != wideTable:
			h.column = ""
		case own == others && strings.EqualFold(h.name, other.name):
			fs = append(fs, sh.src.fault(sh.headerRow, h.text, "the column stands twice", "each column once"))
		default:
			fs = append(fs, sh.src.fault(sh.headerRow, h.text, "this column and %s could both be the %s", "one of them, named %s", reading.Quote(other.text), h.column, h.column))
		}
	}
	return fs
}

// ownName says whether a heading is a column's name and no synonym.
func (l layout) ownName(h heading) bool {
	if as, ok := l.said(h.text); ok && as == h.column {
		return true
	}
	return l.names(strings.ReplaceAll(strings.ToLower(h.name), " ", "_"))
}

// noteHeader says what was passed over and what was taken for what.
func (sh *sheet) noteHeader() {
	if sh.nAbove > 0 {
		sh.notes = append(sh.notes, note.New("above-header").Name("file", sh.src.base()).Number("row", float64(sh.headerRow)).Name("text", sh.above...))
	}
	var called, as []string
	for _, h := range sh.headings {
		if h.column != "" && !sh.layout.ownName(h) {
			called, as = append(called, short(h.name)), append(as, h.column)
		}
	}
	if as != nil {
		sh.notes = append(sh.notes, note.New("columns-understood").Name("file", sh.src.base()).Name("called", called...).Name("as", as...))
	}
}
