package intake

import (
	"archive/zip"
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"
	"time"

	"knownwater"
)

// What a workbook may unfold into, in all and as texts that its sheets share:
// a file of a megabyte may not cost more time and memory than a plain one.
const mostUnzipped, mostShared = 400 << 20, 24 << 20

const wantWorkbook = "an .xlsx workbook as a spreadsheet saves it, without a password, or a .csv file"

var (
	errWorkbook  = errors.New("damaged workbook")
	errTooLarge  = fmt.Errorf("a workbook that unfolds to more than %d MB, or to more than %d MB of texts", mostUnzipped>>20, mostShared>>20)
	errNoSuch    = errors.New("a workbook without that part")
	errLeftEarly = errors.New("left early") // what was sought is found
)

// isWorkbook looks at the content, since names lie: xlsx is a zip.
func (s Source) isWorkbook() bool { return bytes.HasPrefix(s.head(), []byte("PK\x03\x04")) }

// isOldWorkbook says whether this is the binary format before xlsx; a workbook
// with a password is packed in it too.
func (s Source) isOldWorkbook() bool {
	return bytes.HasPrefix(s.head(), []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"))
}

// workbook reads an .xlsx (ISO/IEC 29500-1, SpreadsheetML) row by row: of each
// cell its text, its stored number or the stored value of its formula. It
// holds no more than the texts that cells share.
type workbook struct {
	src    Source
	zip    *zip.Reader
	sheets []struct{ name, part string }
	chosen int
	from04 bool // days count from 1904
	shared texts
	dates  []bool // which cell formats show a date or a time
	merged []merge
	left   int64 // bytes that may still unfold in this pass
	stop   func() error
}

// merge is a block of cells shown as one; rows count from 1, columns from 0.
type merge struct{ top, bottom, left, right int }

// texts are many strings in one block of memory.
type texts struct {
	bytes []byte
	ends  []uint32
}

func (t *texts) at(i int) []byte {
	if i < 0 || i >= len(t.ends) {
		return nil
	}
	from := uint32(0)
	if i > 0 {
		from = t.ends[i-1]
	}
	return t.bytes[from:t.ends[i]]
}

// openWorkbook reads what stands beside the sheets. sheet is the name of the
// one that is wanted; without it, the first.
func (s Source) openWorkbook(sheet string, stop func() error) (*workbook, knownwater.Faults) {
	refuse := func(err error) (*workbook, knownwater.Faults) {
		return nil, s.refuse(0, "", "a workbook that cannot be opened ("+err.Error()+")", wantWorkbook)
	}
	in, size := s.File, s.Size
	if in == nil {
		in, size = bytes.NewReader(s.Data), int64(len(s.Data))
	}
	z, err := zip.NewReader(in, size)
	if err != nil {
		return refuse(err)
	}
	w := &workbook{src: s, zip: z, left: mostUnzipped, stop: stop}
	if err := w.readSheets(); err != nil {
		return refuse(err)
	}
	if err := w.readShared(); err != nil && err != errNoSuch {
		return refuse(err)
	}
	if err := w.readFormats(); err != nil && err != errNoSuch {
		return refuse(err)
	}
	if len(w.sheets) == 0 {
		return nil, s.refuse(0, "", "a workbook without sheets", wantWorkbook)
	}
	if sheet != "" {
		if w.chosen = w.find(sheet); w.chosen < 0 {
			return nil, s.refuse(0, "", fmt.Sprintf("no sheet is called %q", sheet), "one of "+strings.Join(w.names(), ", "))
		}
	}
	if err := w.readMerged(); err != nil {
		return nil, w.refused(0, err)
	}
	return w, nil
}

func (w *workbook) names() (names []string) {
	for _, s := range w.sheets {
		names = append(names, s.name)
	}
	return names
}

func (w *workbook) find(sheet string) int {
	for i, s := range w.sheets {
		if s.name == sheet {
			return i
		}
	}
	for i, s := range w.sheets {
		if strings.EqualFold(s.name, strings.TrimSpace(sheet)) {
			return i
		}
	}
	return -1
}

func (w *workbook) refused(row int, err error) knownwater.Faults {
	return w.src.refuse(row, "", fmt.Sprintf("sheet %q cannot be read (%v)", w.sheets[w.chosen].name, err), wantWorkbook)
}

// open gives a part of the workbook as tags.
func (w *workbook) open(name string) (*tags, io.Closer, error) {
	for _, f := range w.zip.File {
		if !strings.EqualFold(strings.TrimPrefix(f.Name, "/"), name) {
			continue
		}
		r, err := f.Open()
		if err != nil {
			return nil, nil, err
		}
		return &tags{in: bufio.NewReaderSize(&counted{r, w}, 1<<16)}, r, nil
	}
	return nil, nil, errNoSuch
}

// counted is what is unpacked, up to what a workbook may unfold into.
type counted struct {
	r io.Reader
	w *workbook
}

func (c *counted) Read(p []byte) (int, error) {
	if c.w.left <= 0 {
		return 0, errTooLarge
	}
	if c.w.stop != nil {
		if err := c.w.stop(); err != nil {
			return 0, err
		}
	}
	n, err := c.r.Read(p)
	c.w.left -= int64(n)
	return n, err
}

// each visits every tag of a part.
func (w *workbook) each(part string, visit func(t *tags) error) error {
	w.left = mostUnzipped
	t, c, err := w.open(part)
	if err != nil {
		return err
	}
	defer c.Close()
	for {
		switch err := t.next(); {
		case err == io.EOF:
			return nil
		case err != nil:
			return err
		}
		if err := visit(t); err == errLeftEarly {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// readSheets finds the sheets and the parts that hold them.
func (w *workbook) readSheets() error {
	parts := map[string]string{}
	err := w.each("xl/_rels/workbook.xml.rels", func(t *tags) error {
		if t.name == "Relationship" && !t.end {
			target := t.attr("Target")
			if strings.HasPrefix(target, "/") {
				target = target[1:]
			} else {
				target = path.Join("xl", target)
			}
			parts[t.attr("Id")] = target
		}
		return nil
	})
	if err != nil {
		return err
	}
	return w.each("xl/workbook.xml", func(t *tags) error {
		switch {
		case t.end:
		case t.name == "workbookPr":
			v := t.attr("date1904")
			w.from04 = v == "1" || v == "true"
		case t.name == "sheet" && len(w.sheets) < mostColumns:
			if part := parts[t.attr("id")]; strings.Contains(part, "worksheet") || part != "" && !strings.Contains(part, "chartsheet") {
				w.sheets = append(w.sheets, struct{ name, part string }{t.attr("name"), part})
			}
		}
		return nil
	})
}

// readShared reads the texts that cells share; of rich text the runs together,
// without what is written above it for pronunciation.
func (w *workbook) readShared() error {
	inText, above := false, false
	return w.each("xl/sharedStrings.xml", func(t *tags) error {
		if inText {
			w.shared.bytes = append(w.shared.bytes, t.text()...)
		}
		switch t.name {
		case "rPh":
			above = !t.end && !t.empty
		case "t":
			inText = !t.end && !t.empty && !above
		case "si":
			if t.end || t.empty {
				w.shared.ends = append(w.shared.ends, uint32(len(w.shared.bytes)))
			}
		}
		if len(w.shared.bytes)+4*len(w.shared.ends) > mostShared {
			return errTooLarge
		}
		return nil
	})
}

// readFormats finds the cell formats that show dates and times.
func (w *workbook) readFormats() error {
	own := map[string]bool{}
	cellFormats := false
	return w.each("xl/styles.xml", func(t *tags) error {
		switch {
		case t.name == "numFmt" && !t.end && len(own) < mostColumns:
			own[t.attr("numFmtId")] = showsDate(t.attr("formatCode"))
		case t.name == "cellXfs":
			cellFormats = !t.end
		case t.name == "xf" && !t.end && cellFormats && len(w.dates) < 1<<16:
			id := t.attr("numFmtId")
			n, _ := strconv.Atoi(id)
			date, mine := own[id]
			w.dates = append(w.dates, mine && date || !mine && (n >= 14 && n <= 22 || n >= 27 && n <= 36 || n >= 45 && n <= 47 || n >= 50 && n <= 58))
		}
		return nil
	})
}

// showsDate says whether a number format has a day, a month, a year or a time in
// it, outside of what it quotes.
func showsDate(code string) bool {
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case '\\', '_', '*':
			i++
		case '"':
			for i++; i < len(code) && code[i] != '"'; i++ {
			}
		case '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				return false
			}
			if in := strings.ToLower(code[i+1 : i+end]); strings.Trim(in, "hms") == "" && in != "" {
				return true // elapsed time
			}
			i += end
		case 'd', 'D', 'm', 'M', 'y', 'Y', 'h', 'H', 's', 'S':
			return true
		}
	}
	return false
}

const mostMerged = 10_000

func (w *workbook) readMerged() error {
	return w.each(w.sheets[w.chosen].part, func(t *tags) error {
		if t.name == "mergeCell" && !t.end && len(w.merged) < mostMerged {
			from, to, _ := strings.Cut(t.attr("ref"), ":")
			left, top := place(from)
			right, bottom := place(to)
			if top > 0 && bottom >= top && right >= left && left >= 0 {
				w.merged = append(w.merged, merge{top, bottom, left, right})
			}
		}
		return nil
	})
}

// place is column (from 0) and row (from 1) of a cell's name, B3; −1 and 0 where it
// is none.
func place(name string) (column, row int) {
	i := 0
	for ; i < len(name) && i < 4 && name[i] >= 'A' && name[i] <= 'Z'; i++ {
		column = 26*column + int(name[i]-'A') + 1
	}
	row, err := strconv.Atoi(name[i:])
	if i == 0 || err != nil || row < 0 {
		return -1, 0
	}
	return column - 1, row
}

// rows visits the rows of the chosen sheet that have cells.
func (w *workbook) rows(most int, visit visitor) knownwater.Faults {
	r := rowReader{w: w, most: most, visit: visit}
	if err := w.each(w.sheets[w.chosen].part, r.tag); err != nil {
		return w.refused(r.row, err)
	}
	return nil
}

// rowReader puts the cells of a row together.
type rowReader struct {
	w     *workbook
	most  int
	visit visitor

	row, n  int // number of the row, and how many cells it has
	cells   [][]byte
	hold    []byte // what they hold
	column  int
	kind    string
	format  int
	value   []byte
	inValue bool
	above   bool
}

func (r *rowReader) tag(t *tags) error {
	if r.inValue && len(r.value) <= mostInCell {
		r.value = append(r.value, t.text()...)
	}
	switch t.name {
	case "row":
		if !t.end {
			return r.begin(t)
		}
		return r.finish()
	case "c":
		if !t.end {
			r.beginCell(t)
		}
		if t.end || t.empty {
			r.endCell()
		}
	case "rPh":
		r.above = !t.end && !t.empty
	case "v", "t":
		r.inValue = !t.end && !t.empty && !r.above
	case "sheetData":
		if t.end {
			return errLeftEarly
		}
	}
	return nil
}

func (r *rowReader) begin(t *tags) error {
	r.row++
	if n, err := strconv.Atoi(t.attr("r")); err == nil && n > 0 {
		r.row = n
	}
	r.cells, r.hold, r.column, r.n = r.cells[:0], r.hold[:0], -1, 0
	return nil
}

func (r *rowReader) finish() error {
	if r.n > 0 && !r.visit(r.row, r.cells, r.n) {
		return errLeftEarly
	}
	return nil
}

func (r *rowReader) beginCell(t *tags) {
	r.column++
	if c, _ := place(t.attr("r")); c >= r.column {
		r.column = c
	}
	r.kind = t.attr("t")
	r.format, _ = strconv.Atoi(t.attr("s"))
	r.value, r.inValue = r.value[:0], false
}

func (r *rowReader) endCell() {
	r.inValue = false
	r.n = r.column + 1
	if r.column >= r.most {
		return
	}
	for len(r.cells) < r.column {
		r.cells = append(r.cells, nil)
	}
	value := r.value
	switch r.kind {
	case "s":
		i, err := strconv.Atoi(string(value))
		if value = r.w.shared.at(i); err != nil {
			value = nil
		}
	case "", "n":
		if len(value) > 0 {
			value = []byte(r.w.number(string(value), r.format))
		}
	}
	// hold may move as it grows; what stood in it keeps its own place.
	from := len(r.hold)
	r.hold = append(r.hold, value...)
	r.cells = append(r.cells, r.hold[from:len(r.hold):len(r.hold)])
}

// number is a stored number as spreadsheets show it: with fifteen digits, or as
// the date that its format makes of it.
func (w *workbook) number(text string, format int) string {
	if format >= 0 && format < len(w.dates) && w.dates[format] {
		if v, err := strconv.ParseFloat(text, 64); err == nil && v >= 0 && v < 3e6 {
			return w.date(v)
		}
	}
	return fifteenDigits(text)
}

// date is a count of days as a date, a time of day, or both.
func (w *workbook) date(days float64) string {
	start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if w.from04 {
		start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	at := start.AddDate(0, 0, int(days)).Add(time.Duration((days - float64(int(days))) * 24 * float64(time.Hour)).Round(time.Second))
	switch {
	case days == float64(int(days)):
		return at.Format("2006-01-02")
	case days < 1:
		return at.Format("15:04:05")
	}
	return at.Format("2006-01-02 15:04:05")
}

// fifteenDigits shows a stored number as spreadsheets do: 0.1+0.2 is stored as
// 0.30000000000000004 and would look like a display with seventeen decimals.
func fifteenDigits(cell string) string {
	if len(cell) <= 16 {
		return cell
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		return cell
	}
	return strconv.FormatFloat(v, 'g', 15, 64)
}
