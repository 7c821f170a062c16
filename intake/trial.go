package intake

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Options is what a person says beside the files.
type Options struct {
	Sheet   string // which sheet of a workbook; the first if not said
	Method  string // of a table that names no method: which one read it; else the one that is wanted
	Analyte string // of a table with several: which one is wanted
	// Described are the methods as somebody described them, where there is no
	// methods file.
	Described []knownwater.Method
	Called    map[string]string // what columns are, by their headings: see ColumnSeen
	LeaveOut  bool              // rows that are not understood are left out, with a note, not refused
	Stop      func() error      // asked now and then; an error ends the reading with it
}

// Trial reads a file of readings with, where given, the methods and the needs
// that go with it. The error holds knownwater.Faults: every fault of all three
// files. Observations come in a settled order, whatever the order of rows.
func Trial(readings, methods, needs Source) (knownwater.Trial, error) {
	return Options{}.Trial(readings, methods, needs)
}

// Trial is Trial with more said.
func (o Options) Trial(readings, methods, needs Source) (knownwater.Trial, error) {
	var faults knownwater.Faults
	stated := MethodsFile{Water: unit.StandardSea}
	methodsBroken := false
	if methods.given() {
		var fs knownwater.Faults
		stated, fs = readMethods(methods)
		methodsBroken = fs != nil
		faults = append(faults, fs...)
	} else {
		stated.Methods = o.Described
	}
	var wanted []knownwater.Need
	if needs.given() {
		var fs knownwater.Faults
		wanted, fs = readNeeds(needs)
		faults = append(faults, fs...)
	}
	trial, fs := o.readReadings(readings, methods, stated, methodsBroken)
	if o.Stop != nil {
		if err := o.Stop(); err != nil {
			return knownwater.Trial{}, err
		}
	}
	faults = append(fs, faults...)
	if len(faults) > 0 {
		return knownwater.Trial{}, faults
	}
	trial.Needs = wanted
	return trial, nil
}

// counted is a file of readings opened, its rows counted by what they hold.
func (o Options) counted(src Source, stated MethodsFile, given bool) (*sheet, *tally, knownwater.Faults) {
	sh, faults := src.open(readingsLayout, o)
	if faults != nil {
		return nil, nil, faults
	}
	t := newTally(sh)
	t.choose(o, stated)
	if faults := t.wideColumns(sh, stated, given); faults != nil {
		return nil, nil, faults
	}
	if t.wholeLines(sh) {
		sh.known = t.knownLine
	}
	var tooLong knownwater.Faults
	faults = sh.each(func(row int, cells [][]byte, _ int) bool {
		if f := t.add(sh, row, cells); f != nil {
			tooLong = append(tooLong, *f)
		}
		return len(tooLong) < mostFaults && t.tooMany == ""
	})
	if t.tooMany != "" && sh.stopped == nil {
		return nil, nil, src.refuse(0, "", t.tooMany, "fewer: does something stand there that differs in every row, such as a time?")
	}
	sh.known = nil
	faults = append(faults, tooLong...)
	if sh.stopped == nil {
		if fs := t.chosen(sh, o); fs != nil {
			return nil, nil, append(faults, fs...)
		}
	}
	return sh, t, faults
}

func (o Options) readReadings(src, methods Source, stated MethodsFile, broken bool) (knownwater.Trial, knownwater.Faults) {
	given := methods.given() || len(o.Described) > 0
	sh, t, faults := o.counted(src, stated, given)
	if t == nil || sh.stopped != nil {
		return knownwater.Trial{}, faults
	}
	if stated.Scale.Analyte == "" {
		stated.Scale.Analyte = t.oneAnalyte()
	}
	if t.rows == 0 && len(faults) == 0 {
		return knownwater.Trial{}, src.refuse(sh.headerRow, "", "a header and no readings", "a row for each reading")
	}
	j := join(sh, t, methods, stated, given, broken)
	if j.read == 0 && t.rows > 0 && len(faults) == 0 {
		return knownwater.Trial{}, src.refuse(sh.headerRow, "reading", "nothing was read in any row", "a reading in at least one row")
	}
	var left knownwater.Faults
	if bad := j.check(); len(bad) > 0 {
		if where := j.locate(bad); o.LeaveOut && len(bad) < len(t.groups) {
			left = where
			t.leaveOut(bad)
		} else {
			faults = append(faults, where...)
		}
	}
	faults = append(faults, j.faults...)
	if len(faults) > 0 {
		sort.SliceStable(faults, func(a, b int) bool { return faults[a].Row < faults[b].Row })
		return knownwater.Trial{}, faults
	}
	trial := j.trial()
	if left != nil {
		trial.Notes = append(trial.Notes, noteLeftOut(left))
	}
	return trial, nil
}

// joiner brings together counted texts, methods and scales.
type joiner struct {
	sh    *sheet
	tally *tally
	mark  mark

	level, uLevel, uShared, dilution, uDilution []number // by text
	typed                                       []typedText
	oneUnit                                     string // what all levels with a unit behind them have, where others have none
	read                                        int    // readings, those that were not read left out

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

// usedMethod is a method that readings name.
type usedMethod struct {
	known    bool // it is in the methods file, or needs none
	faulty   bool // and has a fault of its own there, which is the one to mend
	method   knownwater.Method
	decimals map[spelled]int // finest decimal seen in each unit, −1 where none
	row      int             // first row
	odd      string          // first reading that is no plain number, without a methods file
	oddRow   int
	bare     bool    // drops without their d were seen
	counted  bool    // its resolution is the finest decimal seen
	shown    float64 // what its own numbers are multiplied by, 0 where nothing is stated
}

func (m *usedMethod) factor() float64 {
	if m.shown == 0 {
		return 1
	}
	return m.shown
}

const (
	wantLevel    = "a concentration from 0 up"
	wantU        = "a standard uncertainty from 0 up"
	wantDilution = "a factor above 0 (8 for 1 part sample and 7 parts pure water)"
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
	j.mark = markOf(textsOf(levels), readings, texts(fULevel), texts(fUShared), texts(fDilution), texts(fUDilution))
	j.level = j.mark.levels(levels, demand{want: wantLevel, required: true})
	j.uLevel = j.mark.numbers(texts(fULevel), demand{want: wantU})
	j.uShared = j.mark.numbers(texts(fUShared), demand{want: wantU})
	j.dilution = j.mark.numbers(texts(fDilution), demand{want: wantDilution, over: true, empty: 1})
	j.uDilution = j.mark.numbers(texts(fUDilution), demand{want: wantUDil})
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
	if found, _ := t.fault(); found != "" || t.notRead {
		return
	}
	text, found, want := j.mark.point(t.text)
	if found != "" {
		t.cell = wrongCell(found, want)
		return
	}
	var err error
	if t.typed, err = reading.Parse(text); err != nil {
		f := err.(knownwater.Fault)
		t.cell = wrongCell(f.Found, f.Want)
		return
	}
	if strings.ContainsAny(text, " \t\n\u00a0") {
		text = strings.Join(strings.Fields(text), "")
	}
	if note := t.note(); note != "" && text != t.text { // as it is understood, with decimal points
		t.odd.note = strings.TrimSuffix(note, t.text) + text
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
	if f := j.scales.fault; f[0] != "" {
		j.faults = append(j.faults, j.sh.src.fault(0, "unit", f[0], f[1]))
	}
	for _, m := range j.stated.Methods {
		if s, stated := ownUnit(m); stated {
			if f := j.scales.faults[s]; f[0] != "" {
				j.faults = append(j.faults, j.file.fault(0, "unit", "method "+reading.Quote(m.Name)+": "+f[0], f[1]))
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

// findMethods joins the names in the readings with the methods file, and
// without one makes displays of the methods whose readings are plain numbers.
func (j *joiner) findMethods() {
	for _, g := range j.tally.groups {
		if j.typed[g.ids[fReading]].notRead {
			continue
		}
		id := g.ids[fMethod]
		m := j.method[id]
		if m == nil {
			m = &usedMethod{row: g.row, decimals: map[spelled]int{}}
			m.method, m.known = j.lookUp(j.tally.words[fMethod].texts[id])
			m.faulty = j.broken && len(reading.Check(m.method)) > 0
			if s, stated := ownUnit(m.method); stated {
				m.shown, m.method.Own = j.scales.factors[s], j.scales.own[s]
			}
			j.method[id] = m
		}
		t := j.typed[g.ids[fReading]]
		switch {
		case t.bad():
		case t.typed.Form != reading.Value || t.typed.Drops:
			if m.odd == "" {
				m.odd, m.oddRow = t.text, g.row
			}
		default:
			m.bare = true
			s, _ := j.shownIn(g)
			if d, seen := m.decimals[s]; !seen || t.typed.Decimals > d {
				m.decimals[s] = t.typed.Decimals
			}
		}
	}
	for _, m := range j.method {
		j.settleMethod(m)
	}
}

func (j *joiner) lookUp(name string) (knownwater.Method, bool) {
	if m, found := j.byName[name]; found {
		return m, true
	}
	return knownwater.Method{Name: name, Kind: knownwater.Display}, !j.given && name != ""
}

// settleMethod fills in a resolution that was not stated, and asks for the
// methods file where it is needed.
func (j *joiner) settleMethod(m *usedMethod) {
	if m.known && !j.given && m.odd != "" {
		j.faults = append(j.faults, j.sh.src.fault(m.oddRow, "reading",
			fmt.Sprintf("%s of method %s is no plain number", reading.Quote(m.odd), reading.Quote(m.method.Name)),
			"a methods file (--methods) that says what kind of method it is"))
		m.known = false
	}
	if !m.known || m.method.Resolution > 0 || !reading.Of(m.method.Kind).Has("resolution") {
		return
	}
	finest := math.Inf(1)
	for s, d := range m.decimals {
		finest = math.Min(finest, math.Pow10(-d)*j.ratio(m, s))
	}
	if !math.IsInf(finest, 1) {
		m.method.Resolution, m.counted = finest, true
	}
}

// ratio turns a reading written down in a unit into the method's own; without a
// methods file into the trial's.
func (j *joiner) ratio(m *usedMethod, s spelled) float64 {
	f := j.scales.factors[s]
	if f == 0 || s == (spelled{}) && j.given {
		return 1
	}
	if f /= m.factor(); math.Abs(f-1) > 1e-9 {
		return f
	}
	return 1
}

// see is what was seen in a group, on the trial's scale, and its text as the
// method would show it.
func (j *joiner) see(g group) (seen interval.Interval, text string, err error) {
	m := j.method[g.ids[fMethod]]
	t := j.typed[g.ids[fReading]]
	s, _ := j.shownIn(g)
	f := j.ratio(m, s)
	if f == 1 {
		seen, err = t.typed.On(reading.OnScale(m.method, m.factor()))
		return seen, t.text, err
	}
	// The last digit was shown in the unit that was written down.
	as := reading.OnScale(m.method, 1/f)
	as.Factor = 0
	if m.counted {
		as.Resolution = math.Pow10(-m.decimals[s])
	}
	seen, err = t.typed.On(as)
	return seen.Scale(f * m.factor()), t.typed.Times(f).String(), err
}

// cellFault is a fault in a row whose number is not known yet.
type cellFault struct {
	field       field
	found, want string
}

// check gives the faults of every group that has some.
func (j *joiner) check() map[int][]cellFault {
	bad := map[int][]cellFault{}
	for i, g := range j.tally.groups {
		if fs := j.checkGroup(g); fs != nil {
			bad[i] = fs
		}
	}
	return bad
}

func (j *joiner) checkGroup(g group) (fs []cellFault) {
	t := j.typed[g.ids[fReading]]
	if t.notRead {
		return nil
	}
	wrong := func(f field, found, want string) {
		if found != "" {
			fs = append(fs, cellFault{f, found, want})
		}
	}
	m := j.method[g.ids[fMethod]]
	switch {
	case m.method.Name == "":
		wrong(fMethod, "nothing", "the method's name")
	case !m.known && j.given && !j.broken:
		wrong(fMethod, reading.Quote(m.method.Name)+" is not in the methods file", "one of "+j.names+j.perhaps(m.method.Name))
	}
	for _, c := range [...]struct {
		field field
		texts []number
	}{{fLevel, j.level}, {fULevel, j.uLevel}, {fUShared, j.uShared}, {fDilution, j.dilution}, {fUDilution, j.uDilution}} {
		n := &c.texts[g.ids[c.field]]
		found, want := n.fault()
		wrong(c.field, found, want)
	}
	if u, s := j.uLevel[g.ids[fULevel]], j.uShared[g.ids[fUShared]]; u.odd == nil && s.odd == nil && s.value > u.value*(1+1e-9) {
		wrong(fUShared, fmt.Sprintf("%g is more than u_level, %g", s.value, u.value), "the part of u_level that the levels share")
	}
	s := j.scales.faults[j.spelled(g)]
	if strings.HasPrefix(s[0], "basis") || strings.HasPrefix(s[0], "no basis") {
		wrong(fBasis, s[0], s[1])
	} else {
		wrong(fUnit, s[0], s[1])
	}
	shown, stated := j.shownIn(g)
	unitFault := j.scales.faults[shown]
	switch found, want := t.fault(); {
	case found != "":
		wrong(fReading, found, want)
	case stated && t.unit != "" && unitFault[0] != "":
		wrong(fReading, unitFault[0], unitFault[1])
	case !m.known || m.faulty:
	case t.dashed && reading.Of(m.method.Kind).Counts:
		low, high, _ := strings.Cut(t.text, "..")
		wrong(fReading, reading.Quote(t.text)+" could be drops or concentrations", low+"d.."+high+"d for drops, or "+t.text)
	default:
		if _, _, err := j.see(g); err != nil {
			f := err.(knownwater.Fault)
			wrong(fReading, f.Found, f.Want)
		}
	}
	slices.SortFunc(fs, func(a, b cellFault) int { return int(a.field - b.field) })
	return fs
}

func (j *joiner) methodNames() string {
	var names []string
	for i, m := range j.stated.Methods {
		if i == mostQuoted {
			names = append(names, fmt.Sprintf("… (%d in all)", len(j.stated.Methods)))
			break
		}
		names = append(names, m.Name)
	}
	return strings.Join(names, ", ")
}

// locate reads the file once more to name every row of the groups with faults.
func (j *joiner) locate(bad map[int][]cellFault) knownwater.Faults {
	var fs knownwater.Faults
	add := func(row int, ids cellIDs, method, reading string) {
		for _, c := range bad[j.tally.index(ids)] {
			name := fieldNames[c.field]
			switch {
			case c.field == fMethod && method != "":
				name = method
			case c.field == fReading && reading != "":
				name = reading
			}
			if f := j.sh.src.fault(row, name, c.found, c.want); len(fs) == 0 || fs[len(fs)-1] != f {
				fs = append(fs, f)
			}
		}
	}
	j.sh.each(func(row int, cells [][]byte, _ int) bool {
		ids, wanted, tooLong := j.tally.identify(j.sh, row, cells)
		switch {
		case tooLong != nil || !wanted:
		case j.tally.wide == nil:
			add(row, ids, "", "")
		default:
			j.tally.eachWide(j.sh, row, cells, ids, func(ids cellIDs, w wideColumn) { add(row, ids, w.text, w.text) })
		}
		return len(fs) < mostFaults
	})
	return fs
}
