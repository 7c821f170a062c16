package intake

import (
	"strconv"

	"knownwater"
)

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
