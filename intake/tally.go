package intake

import (
	"bytes"

	"knownwater"
)

// field is a column of readings.csv that the analysis looks at.
type field int

const (
	fMethod field = iota
	fLevel
	fReading
	fULevel
	fUShared
	fUBackground
	fUnit
	fBasis
	fDilution
	fUDilution
	fTechnique
	fSession
	fReader
	fLot
	fMatrix
	fVial
	fNitrite
	fUNitrite
	fields
)

var fieldNames = [fields]string{"method", "level", "reading", "u_level", "u_shared", "u_background", "unit", "basis",
	"dilution", "u_dilution", "technique", "session", "reader", "lot", "matrix", "vial", "nitrite", "u_nitrite"}

var readingsLayout = layout{
	wanted: fieldNames[:fULevel],
	known:  append(fieldNames[fULevel:fields:fields], "analyte", "replicate", "taken_at", "note"),
	wide:   true,
	synonyms: map[string]string{
		"test": "method", "test kit": "method", "kit": "method",
		"known": "level", "standard": "level", "true": "level", "true value": "level", "true level": "level", "nominal": "level", "target": "level",
		"known level": "level", "known concentration": "level", "concentration": "level",
		"result": "reading", "value": "reading", "read": "reading", "measured": "reading", "observed": "reading", "shown": "reading",
		"u": "u_level", "u known": "u_level", "u standard": "u_level", "u(level)": "u_level", "standard uncertainty": "u_level",
		"units": "unit", "dilution factor": "dilution", "person": "reader", "read by": "reader", "who": "reader", "tester": "reader",
		"batch": "lot", "rep": "replicate", "repeat": "replicate", "date": "taken_at", "time": "taken_at", "read at": "taken_at",
		"notes": "note", "comment": "note", "comments": "note", "remark": "note", "remarks": "note", "parameter": "analyte",
		"no2": "nitrite", "nitrite mg/l": "nitrite", "u nitrite": "u_nitrite",
	},
}

// mostInCell bounds a cell that is analysed, in bytes.
const mostInCell = 1000

// manyRows is where a file is large: from here on, vials that were read once
// are not told apart. More than mostVials vials, or with vials more than
// mostGroups distinct rows, are not told apart at all; without vials, more are
// refused: what is held grows with them, and so does every estimate.
// So are more than mostTexts different texts in a column.
const manyRows, mostVials, mostGroups, mostTexts = 50_000, 50_000, 300_000, 100_000

// words gives every distinct text of a column a small number; 0 is empty.
type words struct {
	ids   map[string]uint32
	texts []string
	last  uint32
}

func newWords() words { return words{ids: map[string]uint32{"": 0}, texts: []string{""}} }

func (w *words) id(cell []byte) uint32 {
	if string(cell) == w.texts[w.last] {
		return w.last
	}
	id, known := w.ids[string(cell)]
	if !known {
		id = uint32(len(w.texts))
		s := string(cell)
		w.ids[s] = id
		w.texts = append(w.texts, s)
	}
	w.last = id
	return id
}

// cellIDs is a row of readings.csv with its texts as numbers.
type cellIDs [fields]uint32

// group is rows with the same texts in every field.
type group struct {
	ids   cellIDs
	count int
	row   int   // the first of them
	also  []int // the next, knownwater.MostAlso at most
}

const wantFewer = "fewer: does something stand there that differs in every row, such as a time?"

// tally counts the rows of readings.csv by their texts.
type tally struct {
	at      [fields]int // column of each field, −1 where there is none
	words   [fields]words
	groups  []group
	slots   []int32 // open addressing: index into groups + 1
	rows    int
	noVials bool             // vials were too many to tell apart
	tooMany knownwater.Fault // of what there is too much
	lines   *lines
	part    []byte // what of a row is analysed, as one text

	only        map[string]bool // methods that are wanted; nil: all
	left        map[string]int  // rows left out, by what they are of
	wide        []wideColumn
	levelUnit   string // in the header's brackets
	readingUnit string
	analyteAt   int
	analytes    words
	analyteRows []int
	analyte     string // the one that is wanted, in small letters; "" for whatever there is

	takenAt int // column of when a row was read; −1: none
	moments []moment
}

// wideColumn is a column of a wide table: the readings of one method.
type wideColumn struct {
	at     int
	method uint32
	unit   string
	text   string // as the header has it
}

func newTally(sh *sheet) *tally {
	t := &tally{slots: make([]int32, 1024), lines: newLines(), left: map[string]int{}, analyteAt: sh.column("analyte"), analytes: newWords(), takenAt: sh.column("taken_at")}
	for f := range fields {
		t.at[f] = sh.column(fieldNames[f])
		t.words[f] = newWords()
	}
	if c := t.at[fLevel]; c >= 0 {
		t.levelUnit = sh.headings[c].unit
	}
	if c := t.at[fReading]; c >= 0 {
		t.readingUnit = sh.headings[c].unit
	}
	return t
}

// add counts a row; the fault is about a cell that is no cell.
func (t *tally) add(sh *sheet, row int, cells [][]byte) *knownwater.Fault {
	text := sh.raw
	if sh.known == nil { // lines differ in what is not analysed
		text = t.analysed(cells)
	}
	if text != nil && t.lines.knows(text) {
		t.again(t.lines.group, row)
		t.moment(t.groups[t.lines.group].ids, cells)
		return nil
	}
	ids, wanted, fault := t.identify(sh, row, cells)
	switch {
	case fault != nil:
		return fault
	case !wanted:
		return nil
	case t.wide == nil:
		t.rows++
		group := t.find(ids, row)
		t.moment(ids, cells)
		if text != nil {
			t.lines.remember(text, group)
		}
	default:
		fault = t.eachWide(sh, row, cells, ids, func(ids cellIDs, _ wideColumn) {
			t.rows++
			t.find(ids, row)
			t.moment(ids, cells)
		})
	}
	if vials := len(t.words[fVial].texts) - 1; vials > mostVials || vials > 0 && len(t.groups) > mostGroups {
		t.forgetVials()
	}
	if len(t.groups) > mostGroups {
		t.tooMany = knownwater.Fault{Found: "more than %d rows that differ", Want: wantFewer}.Of(mostGroups)
	}
	for f := range t.words {
		if len(t.words[f].texts) > mostTexts {
			t.tooMany = knownwater.Fault{Found: "more than %d different texts in the column %s", Want: wantFewer}.Of(mostTexts, fieldNames[f])
		}
	}
	return fault
}

// knownLine counts a line that stood before; whole lines are looked up where every
// column is analysed.
func (t *tally) knownLine(line []byte, row int) bool {
	if !t.lines.knows(line) {
		return false
	}
	t.again(t.lines.group, row)
	return true
}

// wholeLines says whether lines that are alike make one group and others may not.
func (t *tally) wholeLines(sh *sheet) bool {
	if sh.book != nil || t.wide != nil || t.only != nil || t.analyteAt >= 0 {
		return false
	}
	used := 0
	for _, at := range t.at {
		if at >= 0 {
			used++
		}
	}
	return used == len(sh.headings)
}

// again counts a row alike.
func (t *tally) again(group, row int) {
	t.rows++
	g := &t.groups[group]
	if g.count++; len(g.also) < knownwater.MostAlso {
		g.also = append(g.also, row)
	}
}

// analysed is all of a row that matters, as one text; nil where rows are not
// looked up in that way.
func (t *tally) analysed(cells [][]byte) []byte {
	if t.lines.off || t.wide != nil || t.only != nil || t.analyteAt >= 0 {
		return nil
	}
	b := t.part[:0]
	for f, at := range t.at {
		if at >= 0 && at < len(cells) && !(f == int(fVial) && t.noVials) {
			b = append(append(b, cells[at]...), 0) // which no text holds
		}
	}
	t.part = b
	return b
}

// identify gives a row's texts their numbers, those of a wide table without
// method and reading, and says whether it is wanted.
func (t *tally) identify(sh *sheet, row int, cells [][]byte) (ids cellIDs, wanted bool, fault *knownwater.Fault) {
	if !t.wantsAnalyte(cells) {
		return ids, false, nil
	}
	for f, at := range t.at {
		if at < 0 || at >= len(cells) || f == int(fVial) && t.noVials {
			continue
		}
		c := trim(cells[at])
		if len(c) > mostInCell {
			x := sh.src.fault(row, fieldNames[f], "%d bytes in a cell", "at most %d", len(c), mostInCell)
			return ids, true, &x
		}
		ids[f] = t.words[f].id(unmark(c))
	}
	if t.only != nil && t.at[fMethod] >= 0 {
		name := t.words[fMethod].texts[ids[fMethod]]
		if !t.only[name] {
			t.left[name]++
			return ids, false, nil
		}
	}
	return ids, true, nil
}

func (t *tally) wantsAnalyte(cells [][]byte) bool {
	if t.analyteAt < 0 || t.analyteAt >= len(cells) {
		return true
	}
	c := trim(cells[t.analyteAt])
	if len(c) == 0 || len(c) > mostInCell {
		return true
	}
	id := t.analytes.id(c)
	for int(id) >= len(t.analyteRows) {
		t.analyteRows = append(t.analyteRows, 0)
	}
	t.analyteRows[id]++
	return t.analyte == "" || analyteName(t.analytes.texts[id]) == t.analyte
}

// eachWide visits the readings of a row of a wide table; an empty cell is none.
func (t *tally) eachWide(sh *sheet, row int, cells [][]byte, ids cellIDs, visit func(cellIDs, wideColumn)) *knownwater.Fault {
	for _, w := range t.wide {
		if w.at >= len(cells) {
			continue
		}
		c := unmark(trim(cells[w.at]))
		if len(c) == 0 {
			continue
		}
		if len(c) > mostInCell {
			x := sh.src.fault(row, w.text, "%d bytes in a cell", "at most %d", len(c), mostInCell)
			return &x
		}
		if w.unit != "" { // kept with the text, since columns may differ in it
			c = append(append(append(make([]byte, 0, len(c)+len(w.unit)+1), c...), unitMark), w.unit...)
		}
		ids[fMethod], ids[fReading] = w.method, t.words[fReading].id(c)
		visit(ids, w)
	}
	return nil
}

// unitMark stands between a reading of a wide table and its column's unit.
const unitMark = 0x01

// find is the group of a row's texts, made where it is new; the row is counted.
func (t *tally) find(ids cellIDs, row int) int {
	if 2*len(t.groups) >= len(t.slots) {
		t.grow()
	}
	slot := t.slot(ids)
	if t.slots[slot] == 0 {
		if len(t.groups) == cap(t.groups) { // by a quarter: doubling would hold three times as much for a while
			t.groups = append(make([]group, 0, len(t.groups)*5/4+256), t.groups...)
		}
		t.groups = append(t.groups, group{ids: ids, row: row})
		t.slots[slot] = int32(len(t.groups))
	}
	at := int(t.slots[slot]) - 1
	g := &t.groups[at]
	if g.count++; g.count > 1 && len(g.also) < knownwater.MostAlso {
		g.also = append(g.also, row)
	}
	return at
}

// index is the group of a row's texts, or −1.
func (t *tally) index(ids cellIDs) int { return int(t.slots[t.slot(ids)]) - 1 }

func (t *tally) slot(ids cellIDs) int {
	h := uint64(0)
	for _, id := range ids {
		h = (h ^ uint64(id)) * 0x9E3779B97F4A7C15
		h ^= h >> 32
	}
	mask := len(t.slots) - 1
	for i := int(h) & mask; ; i = (i + 1) & mask {
		if g := t.slots[i]; g == 0 || t.groups[g-1].ids == ids {
			return i
		}
	}
}

func (t *tally) grow() {
	t.slots = make([]int32, 4*len(t.slots))
	for i, g := range t.groups {
		t.slots[t.slot(g.ids)] = int32(i + 1)
	}
}

// forgetVials counts again without them, so that memory stays bounded.
func (t *tally) forgetVials() {
	t.noVials = true
	t.lines.forget()
	t.words[fVial] = newWords()
	old := t.groups
	t.groups, t.slots = nil, make([]int32, 1024)
	for _, g := range old {
		g.ids[fVial] = 0
		t.find(g.ids, g.row)
		t.groups[t.index(g.ids)].count += g.count - 1
	}
}

// release lets go of what only further rows would need.
func (t *tally) release() {
	t.slots, t.lines = nil, nil
	for f := range t.words {
		t.words[f].ids = nil
	}
}

// unmark takes off the apostrophe that SafeCell puts on.
func unmark(c []byte) []byte {
	if len(c) > 1 && c[0] == '\'' && knownwater.StartsFormula(string(bytes.TrimLeft(c, "'"))) {
		return c[1:]
	}
	return c
}
