package intake

import (
	"archive/zip"
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"

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
		return nil, s.refuse(0, "", "a workbook that cannot be opened (%v)", wantWorkbook, err)
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
			return nil, s.refuse(0, "", "no sheet is called %q", "one of %s", sheet, strings.Join(w.names(), ", "))
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
	return w.src.refuse(row, "", "sheet %q cannot be read (%v)", wantWorkbook, w.sheets[w.chosen].name, err)
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
