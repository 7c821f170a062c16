package intake

import (
	"bytes"
	"fmt"
	"strings"

	"knownwater"
	"knownwater/science/reading"
)

// mostColumns bounds a header; nobody's table comes near it.
const mostColumns = 1000

// visitor takes one row: its number, its cells (valid during the call; of very
// wide rows not all) and how many there are in all; false ends the visit.
type visitor func(row int, cells [][]byte, n int) bool

// layout is which columns a table must have and which others have a meaning.
type layout struct{ wanted, known []string }

func (l layout) names(name string) bool {
	for _, k := range append(l.wanted[:len(l.wanted):len(l.wanted)], l.known...) {
		if k == name {
			return true
		}
	}
	return false
}

// sheet is a table with a header, from CSV or a workbook.
type sheet struct {
	src       Source
	layout    layout
	text      []byte // CSV: checked UTF-8
	workbook  bool
	sep       byte
	header    []string // as written, trimmed
	columns   int      // how many the header has; header holds no more than mostColumns+1
	headerRow int
}

// open finds how a table is written and what its columns are.
func (s Source) open(l layout) (*sheet, knownwater.Faults) {
	sh := &sheet{src: s, layout: l}
	var faults knownwater.Faults
	switch {
	case s.isWorkbook():
		sh.workbook = true
		faults = s.eachXLSX(mostColumns+1, func(row int, cells [][]byte, n int) bool {
			sh.setHeader(row, cells, n)
			return false
		})
	case s.isOldWorkbook():
		faults = s.refuse(0, "", "a workbook in the binary format before .xlsx", wantWorkbook)
	case strings.HasSuffix(strings.ToLower(s.Name), ".xlsx") && len(s.Data) > 0:
		faults = s.refuse(0, "", "no workbook, whatever the name says", wantWorkbook)
	default:
		if sh.text, faults = s.text(); faults == nil {
			faults = sh.csvHeader()
		}
	}
	if faults == nil {
		faults = sh.checkHeader()
	}
	return sh, faults
}

// csvHeader takes the separator under which the first row names most columns.
func (sh *sheet) csvHeader() knownwater.Faults {
	best := -1
	for _, sep := range []byte{',', ';', '\t'} {
		r := newCSV(sh.src, sh.text, sep, mostColumns+1)
		cells, n, fault := r.next()
		if fault != nil {
			if best < 0 && sep == '\t' {
				return knownwater.Faults{*fault}
			}
			continue
		}
		hits := 0
		for _, c := range cells {
			if sh.layout.names(strings.ToLower(string(trim(c)))) {
				hits++
			}
		}
		// Where nothing is known, the separator that cuts most is the likely one.
		if score := hits*mostColumns*10 + min(n, mostColumns+1); n > 0 && score > best {
			best = score
			sh.sep = sep
			sh.setHeader(r.line, cells, n)
		}
	}
	return nil
}

func (sh *sheet) setHeader(row int, cells [][]byte, n int) {
	sh.headerRow, sh.columns = row, n
	sh.header = make([]string, 0, len(cells))
	for _, c := range cells {
		sh.header = append(sh.header, string(trim(c)))
	}
}

func (sh *sheet) checkHeader() knownwater.Faults {
	wants := "a header row with " + strings.Join(sh.layout.wanted, ", ")
	switch n := sh.columns; {
	case n == 0:
		return sh.src.refuse(0, "", "an empty file", wants+", and a row for each line of data")
	case n > mostColumns:
		return sh.src.refuse(sh.headerRow, "", fmt.Sprintf("%d columns", n), fmt.Sprintf("at most %d", mostColumns))
	}
	var fs knownwater.Faults
	seen := map[string]bool{}
	for _, h := range sh.header {
		name := strings.ToLower(h)
		if seen[name] && sh.layout.names(name) {
			fs = append(fs, sh.src.fault(sh.headerRow, h, "the column stands twice", "each column once"))
		}
		seen[name] = true
	}
	for _, name := range sh.layout.wanted {
		if !seen[name] {
			fs = append(fs, sh.src.fault(sh.headerRow, name, "no such column in the header "+reading.Quote(strings.Join(sh.header, string(rune(max(sh.sep, ' '))))),
				wants+", separated by comma, semicolon or tab"))
		}
	}
	return fs
}

// column is where a column stands, or −1.
func (sh *sheet) column(name string) int {
	for i, h := range sh.header {
		if strings.EqualFold(h, name) {
			return i
		}
	}
	return -1
}

// unknown lists the columns that have no meaning here.
func (sh *sheet) unknown() []string {
	var names []string
	for _, h := range sh.header {
		if h != "" && !sh.layout.names(strings.ToLower(h)) {
			names = append(names, h)
		}
	}
	return names
}

// each visits the rows below the header and says which were malformed. Rows
// without any content are passed over.
func (sh *sheet) each(visit visitor) knownwater.Faults {
	if sh.workbook {
		var fs knownwater.Faults
		broken := sh.src.eachXLSX(mostColumns+1, func(row int, cells [][]byte, n int) bool {
			if row <= sh.headerRow || blank(cells) {
				return true
			}
			// Empty cells to the right are common: a format is enough to store them.
			if n > mostColumns || n > len(sh.header) && !blank(cells[len(sh.header):]) {
				fs = append(fs, sh.tooWide(row, n))
				return len(fs) < mostFaults
			}
			return visit(row, cells, n)
		})
		return append(fs, broken...)
	}
	return sh.eachCSV(len(sh.header)+1, visit)
}

func (sh *sheet) eachCSV(most int, visit visitor) knownwater.Faults {
	var fs knownwater.Faults
	r := newCSV(sh.src, sh.text, sh.sep, most)
	if _, _, fault := r.next(); fault != nil { // the header
		return knownwater.Faults{*fault}
	}
	for len(fs) < mostFaults {
		cells, n, fault := r.next()
		switch {
		case fault != nil:
			fs = append(fs, *fault)
		case n == 0:
			return fs
		case n <= most && blank(cells):
		case n == len(sh.header):
			if !visit(r.line, cells, n) {
				return fs
			}
		case n > len(sh.header):
			fs = append(fs, sh.tooWide(r.line, n))
		default:
			fs = append(fs, sh.src.fault(r.line, "", fmt.Sprintf("%d cells", n),
				fmt.Sprintf("%d, as the header has (leave a cell empty rather than out)", len(sh.header))))
		}
	}
	return fs
}

func (sh *sheet) tooWide(row, n int) knownwater.Fault {
	return sh.src.fault(row, "", fmt.Sprintf("%d cells", n),
		fmt.Sprintf("%d, as the header has (a cell that contains the separator stands in quotes)", len(sh.header)))
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
