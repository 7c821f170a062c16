package intake

import (
	"bytes"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// mostColumns bounds a header; nobody's table comes near it. The header is
// looked for in the first mostAbove rows with anything in them.
const mostColumns, mostAbove = 1000, 60

// visitor takes one row: its number, its cells (valid during the call; of very
// wide rows not all) and how many there are in all; false ends the visit.
type visitor func(row int, cells [][]byte, n int) bool

// sheet is a table with a header, from CSV or a workbook.
type sheet struct {
	src       Source
	opt       Options
	layout    layout
	text      []byte    // CSV: checked UTF-8
	pieces    *pieces   // or a file of it
	book      *workbook // or a workbook
	sep       byte
	headings  []heading
	shape     shape
	columns   int // how many the header has; headings holds no more than mostColumns+1
	headerRow int
	above     []string // what stands in rows above the header, the first few
	nAbove    int
	notes     []note.Note
	stopped   error

	known func(line []byte, row int) bool // see csvRows
	raw   []byte                          // the row that is visited as it stands, where it has no quotes
}

// open finds how a table is written and what its columns are.
func (s Source) open(l layout, o Options) (*sheet, knownwater.Faults) {
	l.called = o.Called
	sh := &sheet{src: s, opt: o, layout: l}
	var faults knownwater.Faults
	switch {
	case s.isWorkbook():
		if sh.book, faults = s.openWorkbook(o.Sheet, o.Stop); faults == nil {
			faults = sh.findHeader(func(visit visitor) knownwater.Faults { return sh.book.rows(mostColumns+1, visit) }).use(sh)
			sh.noteSheets()
		}
	case s.isOldWorkbook():
		faults = s.refuse(0, "", "a workbook in the binary format before .xlsx, or one with a password", wantWorkbook)
	case strings.HasSuffix(strings.ToLower(s.Name), ".xlsx") && len(s.head()) > 0:
		faults = s.refuse(0, "", "no workbook, whatever the name says", wantWorkbook)
	case o.Sheet != "":
		faults = s.refuse(0, "", "no workbook: it has no sheet %s", wantWorkbook, reading.Quote(o.Sheet))
	default:
		if faults = sh.openText(); faults == nil {
			faults = sh.csvHeader()
		}
	}
	if faults == nil {
		faults = sh.checkHeader()
	}
	if faults == nil {
		sh.noteHeader()
	}
	return sh, faults
}

// openText settles the encoding; a plain file is not taken in.
func (sh *sheet) openText() (faults knownwater.Faults) {
	if sh.src.File != nil {
		plain, err := lookThrough(sh.src, sh.stop)
		switch {
		case sh.stopped != nil:
			return nil
		case err != nil:
			return sh.src.refuse(0, "", "cannot be read", err.Error())
		case plain != nil:
			sh.pieces = plain
			return nil
		}
		if sh.src, faults = sh.src.whole(); faults != nil {
			return faults
		}
	}
	var old bool
	if sh.text, old, faults = sh.src.anyText(); old {
		sh.notes = append(sh.notes, note.New("read-as-windows-1252").Name("file", sh.src.base()))
	}
	return faults
}

// rows are the rows of the text, of which the first most cells are kept.
func (sh *sheet) rows(most int) *csvRows {
	r := newCSV(sh.src, sh.text, sh.sep, most)
	if sh.pieces != nil {
		r.from = sh.pieces.reader()
		r.quotes = sh.pieces.quotes
	}
	return r
}

func (sh *sheet) noteSheets() {
	if names := sh.book.names(); sh.opt.Sheet == "" && len(names) > 1 {
		sh.notes = append(sh.notes, note.New("one-sheet-read").Name("file", sh.src.base()).Name("sheet", short(names[sh.book.chosen])).Name("others", names[1:min(len(names), 6)]...))
	}
}

// levelUnit is the unit in the brackets of the heading of levels.
func (sh *sheet) levelUnit() string {
	for _, h := range sh.headings {
		if h.column == "level" {
			return h.unit
		}
	}
	return ""
}

// header is the header as written.
func (sh *sheet) header() (texts []string) {
	for _, h := range sh.headings {
		texts = append(texts, h.text)
	}
	return texts
}

// column is where a column stands, or −1.
func (sh *sheet) column(name string) int {
	return slices.IndexFunc(sh.headings, func(h heading) bool { return h.column == name })
}

// unknown lists the columns that have no meaning here.
func (sh *sheet) unknown() []string {
	var names []string
	for _, h := range sh.headings {
		if h.text != "" && h.column == "" && !h.out { // nobody said that it is of no account
			names = append(names, h.text)
		}
	}
	return names
}

// each visits the rows below the header and says which were malformed. Rows
// without any content are passed over.
func (sh *sheet) each(visit visitor) knownwater.Faults {
	watched := func(row int, cells [][]byte, n int) bool {
		if row%4096 == 0 && sh.stop() {
			return false
		}
		return visit(row, cells, n)
	}
	if sh.book == nil {
		return sh.eachCSV(len(sh.headings)+1, watched)
	}
	var fs knownwater.Faults
	fill := sh.filler()
	broken := sh.book.rows(mostColumns+1, func(row int, cells [][]byte, n int) bool {
		cells = fill.row(row, cells)
		if row <= sh.headerRow || blank(cells) {
			return true
		}
		// Empty cells to the right are common: a format is enough to store them.
		if n > mostColumns || n > len(sh.headings) && !blank(cells[len(sh.headings):]) {
			fs = append(fs, sh.tooWide(row, n))
			return len(fs) < mostFaults
		}
		return watched(row, cells, n)
	})
	sh.stop()
	return append(fs, broken...)
}

// stop says whether the person has given up, and remembers it.
func (sh *sheet) stop() bool {
	if sh.stopped == nil && sh.opt.Stop != nil {
		sh.stopped = sh.opt.Stop()
	}
	return sh.stopped != nil
}

func (sh *sheet) eachCSV(most int, visit visitor) knownwater.Faults {
	var fs knownwater.Faults
	r := sh.rows(most)
	for r.line < sh.headerRow {
		if _, n, fault := r.next(); n == 0 && fault == nil {
			return nil
		}
	}
	if sh.known != nil {
		r.known = func(line []byte, row int) bool { return row%4096 != 0 && sh.known(line, row) } // the others are asked to stop
	}
	for len(fs) < mostFaults {
		cells, n, fault := r.next()
		sh.raw = r.raw
		switch {
		case fault != nil:
			fs = append(fs, *fault)
		case n == 0:
			return fs
		case n == len(sh.headings):
			if !blank(cells) && !visit(r.line, cells, n) {
				return fs
			}
		case n <= most && blank(cells):
		case n > len(sh.headings) && n <= most && len(trim(cells[n-1])) == 0 && blank(cells[len(sh.headings):]): // a separator behind the last cell
			if !visit(r.line, cells[:len(sh.headings)], len(sh.headings)) {
				return fs
			}
		case n > len(sh.headings):
			fs = append(fs, sh.tooWide(r.line, n))
		default:
			fs = append(fs, sh.src.fault(r.line, "", "%d cells",
				"%d, as the header has (leave a cell empty rather than out)", n, len(sh.headings)))
		}
	}
	return fs
}

func (sh *sheet) tooWide(row, n int) knownwater.Fault {
	return sh.src.fault(row, "", "%d cells",
		"%d, as the header has (a cell that contains the separator stands in quotes)", n, len(sh.headings))
}

func blank(cells [][]byte) bool {
	for _, c := range cells {
		if len(trim(c)) > 0 {
			return false
		}
	}
	return true
}

// trim takes the spaces off a cell; most cells have none.
func trim(c []byte) []byte {
	if n := len(c); n > 0 && (c[0] <= ' ' || c[n-1] <= ' ' || c[0] >= 0x80 || c[n-1] >= 0x80) {
		return bytes.TrimSpace(c)
	}
	return c
}
