package intake

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// choose sets what of the table is wanted.
func (t *tally) choose(o Options, stated MethodsFile) {
	t.analyte = analyteName(or(o.Analyte, stated.Scale.Analyte))
	if o.Method == "" {
		return
	}
	if t.at[fMethod] >= 0 {
		t.only = map[string]bool{o.Method: true}
		return
	}
	t.wide = nil
}

// analyteName is how an analyte is settled: "no3" is nitrate.
func analyteName(text string) string {
	if s, err := unit.Parse(text, "mg/L", ""); err == nil {
		return s.Analyte
	}
	return strings.ToLower(strings.TrimSpace(text))
}

// wideColumns finds the columns of a table that has one a method, and the
// method of one that names none.
func (t *tally) wideColumns(sh *sheet, stated MethodsFile, given bool) (fs knownwater.Faults) {
	switch sh.shape {
	case oneMethod:
		t.wide = []wideColumn{{at: t.at[fReading], method: t.words[fMethod].id([]byte(sh.opt.Method)), text: sh.headings[t.at[fReading]].text}}
		t.at[fReading] = -1
		return nil
	case wideTable:
	default:
		return nil
	}
	var names, left []string
	for i, h := range sh.headings {
		if h.column != "" || h.out {
			continue
		}
		name, u := h.name, h.unit
		inFile := slices.ContainsFunc(stated.Methods, func(m knownwater.Method) bool { return m.Name == h.text })
		if inFile { // brackets and all
			name, u = h.text, ""
		}
		switch {
		case name == "":
			if sh.hasCells(i) {
				fs = append(fs, sh.src.fault(sh.headerRow, fmt.Sprintf("column %d", i+1), "readings without a header", "the method's name above each of its columns"))
			}
			continue
		case isComputed(name) && !inFile, sh.opt.Method != "" && name != sh.opt.Method:
			left = append(left, name)
			continue
		}
		t.wide = append(t.wide, wideColumn{at: i, method: t.words[fMethod].id([]byte(name)), unit: u, text: h.text})
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(t.wide) == 0 && fs == nil {
		return sh.src.refuse(sh.headerRow, "", "no column of a method beside the level", "a column a method, or columns method and reading")
	}
	sh.notes = append(sh.notes, note.New("wide-table").Name("file", sh.src.base()).Name("methods", names...))
	if left != nil {
		sh.notes = append(sh.notes, note.New("columns-not-read").Name("file", sh.src.base()).Name("columns", left...))
	}
	if alike := numbered(names); alike != nil && !given {
		sh.notes = append(sh.notes, note.New("numbered-methods").Name("methods", alike...))
	}
	return fs
}

// hasCells says whether a column has anything in it.
func (sh *sheet) hasCells(at int) (has bool) {
	sh.each(func(_ int, cells [][]byte, _ int) bool {
		has = at < len(cells) && len(trim(cells[at])) > 0
		return !has
	})
	return has
}

var numberBehind = regexp.MustCompile(`^(.*\S)[ _.#(]+\d+\)?$`)

// numbered lists names that differ only in a number behind them.
func numbered(names []string) (lists []string) {
	stems := map[string][]string{}
	for _, n := range names {
		if m := numberBehind.FindStringSubmatch(n); m != nil {
			stems[m[1]] = append(stems[m[1]], "“"+short(n)+"”")
		}
	}
	for _, l := range stems {
		if len(l) > 1 {
			lists = append(lists, strings.Join(l, ", "))
		}
	}
	sort.Strings(lists)
	return lists
}

// chosen says what is wrong with the choice: several analytes and none chosen, or
// nothing of what is wanted.
func (t *tally) chosen(sh *sheet, o Options) knownwater.Faults {
	found := t.analyteNames()
	switch {
	case len(found) > 1 && t.analyte == "":
		return sh.src.refuse(sh.headerRow, "analyte", "readings of %s", "one analyte at a time: --analyte %s, or a file for each", strings.Join(found, ", "), found[0])
	case len(found) > 0 && t.analyte != "" && !slices.Contains(found, t.analyte):
		return sh.src.refuse(sh.headerRow, "analyte", "no reading of %s", "readings of it: the column has %s", t.analyte, strings.Join(found, ", "))
	case t.only != nil && t.rows == 0 && len(t.left) > 0:
		return sh.src.refuse(sh.headerRow, "method", "no reading by %s", "one of %s", reading.Quote(o.Method), strings.Join(sorted(t.left), ", "))
	}
	return nil
}

// analyteNames are the analytes of the column, in order of letters.
func (t *tally) analyteNames() []string {
	seen := map[string]int{}
	for _, text := range t.analytes.texts[1:] {
		seen[analyteName(text)]++
	}
	return sorted(seen)
}

// oneAnalyte is what all rows are of that say so, if that is one that is known.
func (t *tally) oneAnalyte() string {
	if t.analyte != "" && unit.Bases(t.analyte) != nil {
		return t.analyte
	}
	if found := t.analyteNames(); len(found) == 1 && unit.Bases(found[0]) != nil {
		return found[0]
	}
	return ""
}

func sorted(m map[string]int) []string {
	var names []string
	for n := range m {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// notes says what was left out.
func (t *tally) notes(sh *sheet) (notes []note.Note) {
	for id, text := range t.analytes.texts {
		if id > 0 && t.analyte != "" && analyteName(text) != t.analyte {
			notes = append(notes, note.New("other-analyte-left-out").Name("file", sh.src.base()).Number("rows", float64(t.analyteRows[id])).Name("of", text).Name("analyte", t.analyte))
		}
	}
	for _, name := range sorted(t.left) {
		notes = append(notes, note.New("other-method-left-out").Name("file", sh.src.base()).Number("rows", float64(t.left[name])).Name("method", name))
	}
	return notes
}

// mostQuoted bounds how many cells are quoted in notes.
const mostQuoted = 20

// cellNotes quotes the cells that were understood otherwise than in plain
// notation, counts what was not read, and asks about names that differ in
// capitals only.
func (j *joiner) cellNotes() (notes []note.Note) {
	quoted := func(f field, read func(id uint32) readAs) {
		count, first, order := map[readAs]int{}, map[readAs]int{}, []readAs(nil)
		for _, g := range j.tally.groups {
			n := read(g.ids[f])
			if n.plain() || j.typed[g.ids[fReading]].notRead {
				continue
			}
			if count[n] == 0 {
				order = append(order, n)
			}
			if count[n] == 0 || g.row < first[n] {
				first[n] = g.row
			}
			count[n] += g.count
		}
		sort.SliceStable(order, func(a, b int) bool { return first[order[a]] < first[order[b]] })
		for i, n := range order {
			if i == mostQuoted {
				notes = append(notes, note.New("more-cells-read-so").Number("cells", float64(len(order)-i)))
				break
			}
			notes = append(notes, note.New("cells-read-as").Number("rows", float64(count[n])).Number("from", float64(first[n])).Since(n.note()))
		}
	}
	quoted(fLevel, func(id uint32) readAs { return cell{odd: j.level[id].odd}.read() })
	quoted(fReading, func(id uint32) readAs { return j.typed[id].read() })
	if n, rows := j.notRead(); n > 0 {
		notes = append(notes, note.New("rows-not-read").Number("count", float64(n)).Number("rows", rows...))
	}
	notes = append(notes, j.turned()...)
	if j.oneUnit != "" {
		notes = append(notes, note.New("levels-in-one-unit").Name("unit", j.oneUnit))
	}
	for _, f := range []field{fMethod, fReader, fLot, fTechnique, fSession, fMatrix} {
		notes = append(notes, j.alike(f)...)
	}
	return notes
}

// turned says which readings were written down in another unit than their
// method's.
func (j *joiner) turned() (notes []note.Note) {
	seen := map[string]bool{}
	for _, g := range j.tally.groups {
		t := j.typed[g.ids[fReading]]
		if t.notRead || t.unit == "" {
			continue
		}
		m := j.method[g.ids[fMethod]]
		if s, stated := j.shownIn(g); stated && j.ratio(m, s) != 1 {
			if key := m.method.Name + "\x00" + t.unit; !seen[key] {
				seen[key] = true
				notes = append(notes, note.New("readings-turned").Name("method", m.method.Name).Name("from", t.unit).
					Name("to", or(m.method.Own.String(), j.scales.to.String())).Number("factor", j.ratio(m, s)))
			}
		}
	}
	slices.SortFunc(notes, func(a, b note.Note) int {
		return cmp.Or(strings.Compare(a.Names["method"][0], b.Names["method"][0]), strings.Compare(a.Names["from"][0], b.Names["from"][0]))
	})
	return notes
}

// mostRowsNamed bounds the rows that a note names.
const mostRowsNamed = 10

// notRead counts the rows without a reading and names the first of them.
func (j *joiner) notRead() (n int, rows []float64) {
	var first []int
	for _, g := range j.tally.groups {
		if j.typed[g.ids[fReading]].notRead {
			n += g.count
			first = append(append(first, g.row), g.also...)
		}
	}
	slices.Sort(first)
	first = slices.Compact(first)
	for _, r := range first[:min(len(first), mostRowsNamed)] {
		rows = append(rows, float64(r))
	}
	return n, rows
}

// alike asks about names that differ in capitals or spaces only: they are kept
// apart, and nobody but the person knows whether they are one.
func (j *joiner) alike(f field) (notes []note.Note) {
	rows, first := map[uint32]int{}, map[uint32]int{}
	for _, g := range j.tally.groups {
		id := g.ids[f]
		if id == 0 || j.typed[g.ids[fReading]].notRead {
			continue
		}
		if rows[id] == 0 || g.row < first[id] {
			first[id] = g.row
		}
		rows[id] += g.count
	}
	folds := map[string][]uint32{}
	for id := range rows {
		k := fold(j.tally.words[f].texts[id])
		folds[k] = append(folds[k], id)
	}
	for _, ids := range folds {
		if len(ids) < 2 {
			continue
		}
		slices.SortFunc(ids, func(a, b uint32) int { return first[a] - first[b] })
		n := note.New("alike-but-for-capitals").Name("column", fieldNames[f])
		for _, id := range ids[:min(len(ids), 5)] {
			n = n.Since(note.New("name-in-rows").Name("name", short(j.tally.words[f].texts[id])).Number("rows", float64(rows[id])).Number("from", float64(first[id])))
		}
		notes = append(notes, n)
	}
	slices.SortFunc(notes, func(a, b note.Note) int {
		return strings.Compare(a.Because[0].Names["name"][0], b.Because[0].Names["name"][0])
	})
	return notes
}

func fold(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// perhaps names the method of the methods file that a name is likely to mean.
func (j *joiner) perhaps(name string) string {
	if m, found := j.folded[fold(name)]; found {
		return "; is it " + m + ", written otherwise?"
	}
	if s := numberBehind.FindStringSubmatch(name); s != nil {
		if m, found := j.folded[fold(s[1])]; found {
			return "; repeats of " + m + " stand in columns of that name"
		}
	}
	return ""
}
