package intake

import (
	"bytes"
	"slices"
	"strconv"
	"strings"

	"knownwater/science/note"
)

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
	if f.merged != nil && !slices.ContainsFunc(sh.notes, func(n note.Note) bool { return n.Code == "merged-cells" }) {
		sh.notes = append(sh.notes, note.New("merged-cells").Name("file", sh.src.base()))
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

// merge is a block of cells shown as one; rows count from 1, columns from 0.
type merge struct{ top, bottom, left, right int }

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
