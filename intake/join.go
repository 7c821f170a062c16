package intake

import (
	"strings"

	"knownwater"
	"knownwater/science/reading"
)

// joiner brings together counted texts, methods and scales.
type joiner struct {
	sh    *sheet
	tally *tally
	mark  mark

	level, uLevel, uShared, uBackground, dilution, uDilution, nitrite, uNitrite []number // by text
	typed                                                                       []typedText
	oneUnit                                                                     string // what all levels with a unit behind them have, where others have none
	read                                                                        int    // readings, those that were not read left out

	stated MethodsFile
	file   Source // the methods file
	given  bool   // there is a methods file
	broken bool   // and it has faults: what hangs on it is not looked at
	scales scales
	byName map[string]knownwater.Method // those of the methods file
	folded map[string]string            // and their names, by how they read in small letters
	names  string                       // as a fault lists them
	method map[uint32]*usedMethod       // by the number of its name
	faults knownwater.Faults            // about no one row
}

// typedText is a distinct reading, understood as far as its text goes.
type typedText struct {
	cell
	typed reading.Typed
}

const (
	wantLevel    = "a concentration from 0 up"
	wantU        = "a standard uncertainty from 0 up"
	wantDilution = "a factor above 0 (8 for 1 part sample and 7 parts pure water)"
	wantNitrite  = "nitrite in mg/L NO2, from 0 up"
	wantUDil     = "a relative standard uncertainty from 0 up"
)

func join(sh *sheet, t *tally, methods Source, stated MethodsFile, given, broken bool) *joiner {
	j := &joiner{sh: sh, tally: t, stated: stated, file: methods, given: given, broken: broken, method: map[uint32]*usedMethod{}, byName: map[string]knownwater.Method{}, folded: map[string]string{}}
	for _, m := range stated.Methods {
		j.byName[m.Name] = m
		j.folded[fold(m.Name)] = m.Name
	}
	j.names = j.methodNames()
	texts := func(f field) []string { return t.words[f].texts }
	levels := cellsOf(texts(fLevel), levelCell)
	j.typed = make([]typedText, len(texts(fReading)))
	readings := make([]string, len(j.typed))
	for i, text := range texts(fReading) {
		j.typed[i].cell = t.readingCell(text)
		readings[i] = j.typed[i].text
	}
	j.mark = markOf(textsOf(levels), readings, texts(fULevel), texts(fUShared), texts(fUBackground), texts(fDilution), texts(fUDilution), texts(fNitrite), texts(fUNitrite))
	j.level = j.mark.levels(levels, demand{want: wantLevel, required: true})
	j.uLevel = j.mark.numbers(texts(fULevel), demand{want: wantU})
	j.uShared = j.mark.numbers(texts(fUShared), demand{want: wantU})
	j.uBackground = j.mark.numbers(texts(fUBackground), demand{want: wantU})
	j.dilution = j.mark.numbers(texts(fDilution), demand{want: wantDilution, over: true, empty: 1})
	j.uDilution = j.mark.numbers(texts(fUDilution), demand{want: wantUDil})
	j.nitrite = j.mark.numbers(texts(fNitrite), demand{want: wantNitrite})
	j.uNitrite = j.mark.numbers(texts(fUNitrite), demand{want: wantU})
	for i := range j.typed {
		j.understand(&j.typed[i])
	}
	for _, g := range t.groups {
		if !j.typed[g.ids[fReading]].notRead {
			j.read += g.count
		}
	}
	j.oneLevelUnit()
	j.settleScales()
	j.findMethods()
	return j
}

// oneLevelUnit lets the unit behind some levels hold for the others, where it is
// the only one and no column says otherwise.
func (j *joiner) oneLevelUnit() {
	if j.tally.at[fUnit] >= 0 || j.tally.levelUnit != "" || j.stated.Scale.Unit != "" {
		return
	}
	one, bare := "", false
	for _, g := range j.tally.groups {
		switch u := j.level[g.ids[fLevel]].unit; {
		case j.typed[g.ids[fReading]].notRead:
		case u == "":
			bare = true
		case one == "":
			one = u
		case one != u:
			return
		}
	}
	if j.tally.levelUnit = one; bare {
		j.oneUnit = one
	}
}

func cellsOf(texts []string, understand func(string) cell) []cell {
	out := make([]cell, len(texts))
	for i, t := range texts {
		out[i] = understand(t)
	}
	return out
}

func textsOf(cells []cell) []string {
	out := make([]string, len(cells))
	for i, c := range cells {
		out[i] = c.text
	}
	return out
}

// readingCell is a reading with the unit of its column, where it has none of
// its own.
func (t *tally) readingCell(text string) cell {
	text, u, _ := strings.Cut(text, string(rune(unitMark)))
	c := readingCell(text)
	if c.unit == "" {
		c.unit = or(u, t.readingUnit)
	}
	return c
}

func (j *joiner) understand(t *typedText) {
	if t.bad() || t.notRead {
		return
	}
	text, wrong := j.mark.point(t.text)
	if wrong.Found != "" {
		t.cell = cell{odd: &odd{fault: wrong}}
		return
	}
	var err error
	if t.typed, err = reading.Parse(text); err != nil {
		t.cell = cell{odd: &odd{fault: err.(knownwater.Fault)}}
		return
	}
	if strings.ContainsAny(text, " \t\n\u00a0") {
		text = strings.Join(strings.Fields(text), "")
	}
	if !t.read().plain() { // as it is understood, with decimal points
		t.odd.as = text
	}
	t.text = text
}

// spelled is the unit and basis of a row's level: behind the number, in its own
// columns, in the header.
func (j *joiner) spelled(g group) spelled {
	w := &j.tally.words
	return spelled{or(j.level[g.ids[fLevel]].unit, or(w[fUnit].texts[g.ids[fUnit]], j.tally.levelUnit)), w[fBasis].texts[g.ids[fBasis]]}
}

// shownIn is the unit in which a reading was written down, where that is stated
// and need not be the method's own.
func (j *joiner) shownIn(g group) (s spelled, stated bool) {
	u := j.typed[g.ids[fReading]].unit
	m, known := j.lookUp(j.tally.words[fMethod].texts[g.ids[fMethod]])
	switch {
	case reading.Of(m.Kind).Signal:
		return spelled{}, false
	case u == "" && j.given:
		return spelled{}, false
	case u == "":
		return j.spelled(g), true
	case basisBehind(u):
		return spelled{unit: u}, true
	case j.given && known:
		return spelled{u, m.Own.Basis}, true
	}
	return spelled{u, j.tally.words[fBasis].texts[g.ids[fBasis]]}, true
}

func (j *joiner) settleScales() {
	if j.broken || j.read == 0 {
		return
	}
	rows := map[spelled]int{}
	var shown []spelled
	seen := map[spelled]bool{}
	for _, g := range j.tally.groups {
		if j.typed[g.ids[fReading]].notRead {
			continue
		}
		rows[j.spelled(g)] += g.count
		if s, stated := j.shownIn(g); stated && !seen[s] {
			seen[s] = true
			if j.typed[g.ids[fReading]].unit != "" {
				shown = append(shown, s)
			}
		}
	}
	for _, m := range j.stated.Methods {
		if s, stated := ownUnit(m); stated {
			shown = append(shown, s)
		}
	}
	j.scales = settleScales(j.stated.Scale, rows, shown, j.stated.Water)
	if f := j.scales.fault; f.Found != "" {
		j.faults = append(j.faults, j.sh.src.at(0, "unit", f))
	}
	for _, m := range j.stated.Methods {
		if s, stated := ownUnit(m); stated {
			if f := j.scales.faults[s]; f.Found != "" {
				j.faults = append(j.faults, j.file.fault(0, "unit", "method %s: %s", "%s", reading.Quote(m.Name), f.Found, f.Want))
			}
		}
	}
}

// ownUnit is the unit that the methods file gives a method's own numbers. What
// reads a signal has none.
func ownUnit(m knownwater.Method) (s spelled, stated bool) {
	s = spelled{m.Own.Unit, m.Own.Basis}
	return s, s != (spelled{}) && !reading.Of(m.Kind).Signal
}
