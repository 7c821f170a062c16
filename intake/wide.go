package intake

import (
	"fmt"
	"regexp"
	"slices"
	"sort"
	"strings"

	"knownwater"
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
	sh.notes = append(sh.notes, fmt.Sprintf("%s is read as a table with a column a method: %s", sh.src.base(), strings.Join(names, ", ")))
	if left != nil {
		sh.notes = append(sh.notes, fmt.Sprintf("%s: columns that are no readings of a method wanted here are not read: %s", sh.src.base(), strings.Join(left, ", ")))
	}
	if alike := numbered(names); alike != "" && !given {
		sh.notes = append(sh.notes, fmt.Sprintf("%s are taken as methods of their own: if they are repeats of one method, give their columns one name", alike))
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
func numbered(names []string) string {
	stems := map[string][]string{}
	for _, n := range names {
		if m := numberBehind.FindStringSubmatch(n); m != nil {
			stems[m[1]] = append(stems[m[1]], "“"+short(n)+"”")
		}
	}
	var lists []string
	for _, l := range stems {
		if len(l) > 1 {
			lists = append(lists, strings.Join(l, ", "))
		}
	}
	sort.Strings(lists)
	return strings.Join(lists, "; ")
}

// chosen says what is wrong with the choice: several analytes and none chosen, or
// nothing of what is wanted.
func (t *tally) chosen(sh *sheet, o Options) knownwater.Faults {
	found := t.analyteNames()
	switch {
	case len(found) > 1 && t.analyte == "":
		return sh.src.refuse(sh.headerRow, "analyte", "readings of "+strings.Join(found, ", "), "one analyte at a time: --analyte "+found[0]+", or a file for each")
	case len(found) > 0 && t.analyte != "" && !slices.Contains(found, t.analyte):
		return sh.src.refuse(sh.headerRow, "analyte", "no reading of "+t.analyte, "readings of it: the column has "+strings.Join(found, ", "))
	case t.only != nil && t.rows == 0 && len(t.left) > 0:
		return sh.src.refuse(sh.headerRow, "method", "no reading by "+reading.Quote(o.Method), "one of "+strings.Join(sorted(t.left), ", "))
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
func (t *tally) notes(sh *sheet) (notes []string) {
	for id, text := range t.analytes.texts {
		if id > 0 && t.analyte != "" && analyteName(text) != t.analyte {
			notes = append(notes, fmt.Sprintf("%s: %s of %s left out, since %s is judged here", sh.src.base(), rowsWords(t.analyteRows[id]), text, t.analyte))
		}
	}
	for _, name := range sorted(t.left) {
		notes = append(notes, fmt.Sprintf("%s: %s by %s left out, since only one method was asked for", sh.src.base(), rowsWords(t.left[name]), name))
	}
	return notes
}

func rowsWords(n int) string {
	if n == 1 {
		return "1 row"
	}
	return fmt.Sprintf("%d rows", n)
}

// mostQuoted bounds how many cells are quoted in notes.
const mostQuoted = 20

// cellNotes quotes the cells that were understood otherwise than in plain
// notation, counts what was not read, and asks about names that differ in
// capitals only.
func (j *joiner) cellNotes() (notes []string) {
	quoted := func(f field, note func(id uint32) string) {
		count, first, order := map[string]int{}, map[string]int{}, []string(nil)
		for _, g := range j.tally.groups {
			n := note(g.ids[f])
			if n == "" || j.typed[g.ids[fReading]].notRead {
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
				notes = append(notes, fmt.Sprintf("%d more cells were read in such a way", len(order)-i))
				break
			}
			notes = append(notes, fmt.Sprintf("%s (%s, from row %d on)", n, rowsWords(count[n]), first[n]))
		}
	}
	quoted(fLevel, func(id uint32) string { return cell{odd: j.level[id].odd}.note() })
	quoted(fReading, func(id uint32) string { return j.typed[id].note() })
	if n, rows := j.notRead(); n > 0 {
		notes = append(notes, fmt.Sprintf("%s without a reading: taken as not read (%s)", rowsWords(n), rows))
	}
	notes = append(notes, j.turned()...)
	if j.oneUnit != "" {
		notes = append(notes, fmt.Sprintf("levels without a unit are taken in %s, as the others are", j.oneUnit))
	}
	for _, f := range []field{fMethod, fReader, fLot, fTechnique, fSession, fMatrix} {
		notes = append(notes, j.alike(f)...)
	}
	return notes
}

// turned says which readings were written down in another unit than their
// method's.
func (j *joiner) turned() (notes []string) {
	for _, g := range j.tally.groups {
		t := j.typed[g.ids[fReading]]
		if t.notRead || t.unit == "" {
			continue
		}
		m := j.method[g.ids[fMethod]]
		if s, stated := j.shownIn(g); stated && j.ratio(m, s) != 1 {
			n := fmt.Sprintf("readings of %s given in %s were turned into %s (factor %.6g)", m.method.Name, t.unit, or(m.method.Own.String(), j.scales.to.String()), j.ratio(m, s))
			if !slices.Contains(notes, n) {
				notes = append(notes, n)
			}
		}
	}
	sort.Strings(notes)
	return notes
}

// notRead counts the rows without a reading and names the first of them.
func (j *joiner) notRead() (n int, rows string) {
	var first []int
	for _, g := range j.tally.groups {
		if j.typed[g.ids[fReading]].notRead {
			n += g.count
			first = append(append(first, g.row), g.also...)
		}
	}
	slices.Sort(first)
	first = slices.Compact(first)
	var words []string
	for i, r := range first {
		if i == 10 {
			words = append(words, "…")
			break
		}
		words = append(words, fmt.Sprint(r))
	}
	if n == 1 {
		return n, "row " + words[0]
	}
	return n, "rows " + strings.Join(words, ", ")
}

// alike asks about names that differ in capitals or spaces only: they are kept
// apart, and nobody but the person knows whether they are one.
func (j *joiner) alike(f field) (notes []string) {
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
		var names []string
		for _, id := range ids[:min(len(ids), 5)] {
			names = append(names, fmt.Sprintf("“%s” (%s, from row %d on)", short(j.tally.words[f].texts[id]), rowsWords(rows[id]), first[id]))
		}
		notes = append(notes, fmt.Sprintf("is it one %s or several? %s differ in capitals or spaces only and are kept apart: write them alike if they are one", fieldNames[f], strings.Join(names, " and ")))
	}
	sort.Strings(notes)
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
