package intake

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"knownwater"
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
	notes     []string
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
		faults = s.refuse(0, "", "no workbook: it has no sheet "+reading.Quote(o.Sheet), wantWorkbook)
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
	var note string
	if sh.text, note, faults = sh.src.anyText(); note != "" {
		sh.notes = append(sh.notes, note)
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
		sh.notes = append(sh.notes, fmt.Sprintf("%s: sheet “%s” is read; of its other sheets (%s) nothing is, unless one is chosen with --sheet",
			sh.src.base(), short(names[sh.book.chosen]), strings.Join(names[1:min(len(names), 6)], ", ")))
	}
}

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
	wants := "a header row with " + strings.Join(sh.layout.wanted, ", ")
	switch n := sh.columns; {
	case n == 0:
		return sh.src.refuse(0, "", "an empty file", wants+", and a row for each line of data")
	case n > mostColumns:
		return sh.src.refuse(sh.headerRow, "", fmt.Sprintf("%d columns", n), fmt.Sprintf("at most %d", mostColumns))
	}
	fs := sh.settleNames()
	switch sh.shape {
	case noHeader:
		for _, name := range sh.layout.wanted {
			if sh.column(name) < 0 {
				want := wants + ", separated by comma, semicolon or tab"
				if sh.book != nil && len(sh.book.sheets) > 1 && sh.opt.Sheet == "" {
					want += "; another sheet is chosen with --sheet"
				}
				fs = append(fs, sh.src.fault(sh.headerRow, name, "no such column in the header "+reading.Quote(strings.Join(sh.header(), string(rune(max(sh.sep, ' '))))), want))
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
			fs = append(fs, sh.src.fault(sh.headerRow, h.text, fmt.Sprintf("this column and %s could both be the %s", reading.Quote(other.text), h.column), "one of them, named "+h.column))
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
		sh.notes = append(sh.notes, fmt.Sprintf("%s: what stands above the header in row %d is not read: “%s”", sh.src.base(), sh.headerRow, strings.Join(sh.above, "”, “")))
	}
	var as []string
	for _, h := range sh.headings {
		if h.column != "" && !sh.layout.ownName(h) {
			as = append(as, fmt.Sprintf("“%s” as %s", short(h.name), h.column))
		}
	}
	if as != nil {
		sh.notes = append(sh.notes, fmt.Sprintf("%s: columns were understood: %s", sh.src.base(), strings.Join(as, ", ")))
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
		if h.text != "" && h.column == "" {
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
			fs = append(fs, sh.src.fault(r.line, "", fmt.Sprintf("%d cells", n),
				fmt.Sprintf("%d, as the header has (leave a cell empty rather than out)", len(sh.headings))))
		}
	}
	return fs
}

func (sh *sheet) tooWide(row, n int) knownwater.Fault {
	return sh.src.fault(row, "", fmt.Sprintf("%d cells", n),
		fmt.Sprintf("%d, as the header has (a cell that contains the separator stands in quotes)", len(sh.headings)))
}

// filler puts the value of merged cells into every row that they cover, in
// columns that say of what a row is: a reading stands once, however tall its cell.
type filler struct {
	merged []merge
	value  [][]byte // of each, once its first row was seen
}

func (sh *sheet) filler() *filler {
	f := &filler{}
	for _, m := range sh.book.merged {
		if m.top > sh.headerRow && m.bottom > m.top && m.left == m.right && m.left < len(sh.headings) {
			if c := sh.headings[m.left].column; c != "" && c != "reading" && c != "signal" && c != "replicate" && c != "note" {
				f.merged = append(f.merged, m)
			}
		}
	}
	if f.merged != nil && !slices.ContainsFunc(sh.notes, func(n string) bool { return strings.Contains(n, "merged") }) {
		sh.notes = append(sh.notes, sh.src.base()+": merged cells hold for every row that they cover")
	}
	slices.SortFunc(f.merged, func(a, b merge) int { return a.top - b.top })
	// Cells cannot be merged twice; a file that says so costs no more for it.
	bottom := make([]int, len(sh.headings))
	f.merged = slices.DeleteFunc(f.merged, func(m merge) bool {
		if m.top <= bottom[m.left] {
			return true
		}
		bottom[m.left] = m.bottom
		return false
	})
	f.value = make([][]byte, len(f.merged))
	return f
}

func (f *filler) row(row int, cells [][]byte) [][]byte {
	for i := 0; i < len(f.merged); i++ {
		m := f.merged[i]
		switch {
		case row < m.top:
			return cells
		case row == m.top && m.left < len(cells):
			f.value[i] = bytes.Clone(cells[m.left])
		case row > m.top && row <= m.bottom && m.left < len(cells) && len(trim(cells[m.left])) == 0 && !blank(cells):
			cells[m.left] = f.value[i]
		case row > m.bottom:
			f.merged, f.value = slices.Delete(f.merged, i, i+1), slices.Delete(f.value, i, i+1)
			i--
		}
	}
	return cells
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
