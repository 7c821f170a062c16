package intake

import (
	"bytes"

	"knownwater"
)

// csvRows cuts text into rows of cells without copying them. It follows
// RFC 4180 with any one-byte separator: a cell in double quotes may hold
// separators, line ends and doubled quotes.
type csvRows struct {
	src     Source
	data    []byte
	sep     byte
	quotes  bool // whether the text holds a quote at all
	pos     int
	line    int // of the row that next returned, 1 is the first
	nextRow int
	cells   [][]byte
	most    int    // cells kept of a row; the rest are counted
	scratch []byte // unescaped cells of one row

	from  *piece                          // where more of the text comes from; nil: data is all
	known func(line []byte, row int) bool // asked about a line without quotes: it needs no cutting
	raw   []byte                          // the row as it stands, where it has no quotes
}

func newCSV(src Source, data []byte, sep byte, most int) *csvRows {
	return &csvRows{src: src, data: data, sep: sep, most: most, nextRow: 1,
		quotes: bytes.IndexByte(data, '"') >= 0}
}

// next gives the cells of the next row that is not blank, valid until the next
// call, and how many there are in all. n is 0 at the end. A fault speaks of the
// row: reading can go on after it.
func (r *csvRows) next() (cells [][]byte, n int, fault *knownwater.Fault) {
	for {
		i := bytes.IndexByte(r.data[r.pos:], '\n')
		if i < 0 && r.more() {
			continue
		}
		if r.pos >= len(r.data) {
			break
		}
		end := len(r.data)
		if i >= 0 {
			end = r.pos + i
		}
		line := r.data[r.pos:end]
		r.line, r.raw = r.nextRow, nil
		if r.quotes && bytes.IndexByte(line, '"') >= 0 {
			r.wholeRow()
			return r.quoted()
		}
		r.pos = min(end+1, len(r.data))
		r.nextRow++
		line = trimCR(line)
		if len(line) == 0 || r.known != nil && r.known(line, r.line) {
			continue
		}
		r.raw = line
		cells, n = r.split(line)
		return cells, n, nil
	}
	return nil, 0, nil
}

// more takes in more of the text, behind what is left of it.
func (r *csvRows) more() bool {
	if r.from == nil {
		return false
	}
	rest := r.data[r.pos:]
	if len(rest) >= mostRow {
		return false // what is longer is cut, and faulty for being so long
	}
	r.data, r.pos = r.from.refill(rest), 0
	return len(r.data) > len(rest)
}

// wholeRow takes in more until a row with quotes is there in full: up to a line
// end with an even number of quotes before it.
func (r *csvRows) wholeRow() {
	for from, quotes := 0, 0; ; {
		i := bytes.IndexByte(r.data[r.pos+from:], '\n')
		if i < 0 {
			if !r.more() {
				return
			}
			from, quotes = 0, 0
			continue
		}
		quotes += bytes.Count(r.data[r.pos+from:r.pos+from+i], []byte{'"'})
		if from += i + 1; quotes%2 == 0 {
			return
		}
	}
}

func trimCR(line []byte) []byte {
	if n := len(line); n > 0 && line[n-1] == '\r' {
		return line[:n-1]
	}
	return line
}

// split cuts a line without quotes.
func (r *csvRows) split(line []byte) ([][]byte, int) {
	cells, from, n := r.cells[:0], 0, 0
	for i, c := range line {
		if c == r.sep {
			if n < r.most {
				cells = append(cells, line[from:i])
			}
			n++
			from = i + 1
		}
	}
	if n < r.most {
		cells = append(cells, line[from:])
	}
	r.cells = cells
	return cells, n + 1
}

// quoted reads a row with quotes in it, which may run over several lines.
func (r *csvRows) quoted() ([][]byte, int, *knownwater.Fault) {
	r.cells, r.scratch = r.cells[:0], r.scratch[:0]
	n := 0
	for {
		cell, last, fault := r.cell()
		if fault != nil {
			return nil, 1, fault
		}
		if n < r.most {
			r.cells = append(r.cells, cell)
		}
		n++
		if last {
			return r.cells, n, nil
		}
	}
}

// cell reads one cell at pos and steps over the separator or line end behind it.
func (r *csvRows) cell() (cell []byte, last bool, fault *knownwater.Fault) {
	if r.pos < len(r.data) && r.data[r.pos] == '"' {
		cell, fault = r.inQuotes()
	} else {
		cell, fault = r.bare()
	}
	if fault != nil {
		return nil, true, fault
	}
	if r.pos < len(r.data) && r.data[r.pos] == r.sep {
		r.pos++
		return cell, false, nil
	}
	r.skipLine()
	return cell, true, nil
}

func (r *csvRows) bare() ([]byte, *knownwater.Fault) {
	from := r.pos
	for r.pos < len(r.data) {
		switch c := r.data[r.pos]; {
		case c == r.sep, c == '\n':
			return trimCR(r.data[from:r.pos]), nil
		case c == '"':
			return nil, r.fail("a quote inside a cell", `the whole cell in quotes, a quote inside it doubled: "say ""so"""`)
		}
		r.pos++
	}
	return trimCR(r.data[from:]), nil
}

// inQuotes reads a quoted cell: between its quotes, doubled ones made single.
func (r *csvRows) inQuotes() ([]byte, *knownwater.Fault) {
	start := len(r.scratch)
	r.pos++
	for {
		i := bytes.IndexByte(r.data[r.pos:], '"')
		if i < 0 {
			r.pos = len(r.data)
			return nil, r.fail("a quote that is opened and never closed", "a closing quote")
		}
		part := r.data[r.pos : r.pos+i]
		r.nextRow += bytes.Count(part, []byte{'\n'})
		r.scratch = append(r.scratch, part...)
		r.pos += i + 1
		if r.pos >= len(r.data) || r.data[r.pos] != '"' {
			break
		}
		r.scratch = append(r.scratch, '"')
		r.pos++
	}
	rest := r.data[r.pos:]
	if len(rest) > 0 && rest[0] != r.sep && rest[0] != '\n' && rest[0] != '\r' {
		return nil, r.fail("text after a closing quote", `a separator there; a quote inside a cell is doubled: "say ""so"""`)
	}
	// A later row of scratch may grow it elsewhere; this slice keeps the old one.
	return r.scratch[start:len(r.scratch):len(r.scratch)], nil
}

// fail gives up on the row and steps to the next line.
func (r *csvRows) fail(found, want string) *knownwater.Fault {
	r.skipLine()
	f := r.src.fault(r.line, "", found, want)
	return &f
}

func (r *csvRows) skipLine() {
	if i := bytes.IndexByte(r.data[r.pos:], '\n'); i >= 0 {
		r.pos += i + 1
		r.nextRow++
		return
	}
	r.pos = len(r.data)
}
