package intake

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Trial reads a file of readings with, where given, the methods and the needs
// that go with it. The error holds knownwater.Faults: every fault of all three
// files. Observations come in a settled order, whatever the order of rows.
func Trial(readings, methods, needs Source) (knownwater.Trial, error) {
	var faults knownwater.Faults
	stated := MethodsFile{Water: unit.StandardSea}
	methodsBroken := false
	if methods.given() {
		var fs knownwater.Faults
		stated, fs = readMethods(methods)
		methodsBroken = fs != nil
		faults = append(faults, fs...)
	}
	var wanted []knownwater.Need
	if needs.given() {
		var fs knownwater.Faults
		wanted, fs = readNeeds(needs)
		faults = append(faults, fs...)
	}
	trial, fs := readReadings(readings, methods, stated, methodsBroken)
	faults = append(fs, faults...)
	if len(faults) > 0 {
		return knownwater.Trial{}, faults
	}
	trial.Needs = wanted
	return trial, nil
}

func readReadings(src, methods Source, stated MethodsFile, broken bool) (knownwater.Trial, knownwater.Faults) {
	sh, faults := src.open(readingsLayout)
	if faults != nil {
		return knownwater.Trial{}, faults
	}
	t := newTally(sh)
	var tooLong knownwater.Faults
	faults = sh.each(func(row int, cells [][]byte, _ int) bool {
		if f := t.add(sh, row, cells); f != nil {
			tooLong = append(tooLong, *f)
		}
		return len(tooLong) < mostFaults
	})
	faults = append(faults, tooLong...)
	if t.rows == 0 && len(faults) == 0 {
		return knownwater.Trial{}, src.refuse(sh.headerRow, "", "a header and no readings", "a row for each reading")
	}
	j := join(sh, t, methods, stated, broken)
	if bad := j.check(); len(bad) > 0 {
		faults = append(faults, j.locate(bad)...)
	}
	faults = append(faults, j.faults...)
	if len(faults) > 0 {
		sort.SliceStable(faults, func(a, b int) bool { return faults[a].Row < faults[b].Row })
		return knownwater.Trial{}, faults
	}
	return j.trial(), nil
}

// joiner brings together counted texts, methods and scales.
type joiner struct {
	sh    *sheet
	tally *tally
	mark  mark

	level, uLevel, uShared, dilution, uDilution []number // by text
	typed                                       []typedText

	stated MethodsFile
	file   Source // the methods file
	given  bool   // there is a methods file
	broken bool   // and it has faults: what hangs on it is not looked at
	scales scales
	method map[uint32]*usedMethod // by the number of its name
	faults knownwater.Faults      // about no one row
}

// typedText is a distinct reading, understood as far as its text goes.
type typedText struct {
	typed       reading.Typed
	text        string // trimmed, with decimal points
	found, want string
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

func join(sh *sheet, t *tally, methods Source, stated MethodsFile, broken bool) *joiner {
	j := &joiner{sh: sh, tally: t, stated: stated, file: methods, given: methods.given(), broken: broken, method: map[uint32]*usedMethod{}}
	texts := func(f field) []string { return t.words[f].texts }
	j.mark = markOf(texts(fLevel), texts(fReading), texts(fULevel), texts(fUShared), texts(fDilution), texts(fUDilution))
	j.level = j.mark.numbers(texts(fLevel), demand{want: wantLevel, required: true})
	j.uLevel = j.mark.numbers(texts(fULevel), demand{want: wantU})
	j.uShared = j.mark.numbers(texts(fUShared), demand{want: wantU})
	j.dilution = j.mark.numbers(texts(fDilution), demand{want: wantDilution, over: true, empty: 1})
	j.uDilution = j.mark.numbers(texts(fUDilution), demand{want: wantUDil})
	for _, text := range texts(fReading) {
		j.typed = append(j.typed, j.understand(text))
	}
	j.settleScales()
	j.findMethods()
	return j
}

func (j *joiner) understand(text string) typedText {
	t, found, want := j.mark.point(text)
	if found != "" {
		return typedText{found: found, want: want}
	}
	typed, err := reading.Parse(t)
	if err != nil {
		f := err.(knownwater.Fault)
		return typedText{found: f.Found, want: f.Want}
	}
	return typedText{typed: typed, text: strings.Join(strings.Fields(t), "")}
}

func (j *joiner) spelled(g group) spelled {
	w := &j.tally.words
	return spelled{w[fUnit].texts[g.ids[fUnit]], w[fBasis].texts[g.ids[fBasis]]}
}

func (j *joiner) settleScales() {
	if j.broken || len(j.tally.groups) == 0 {
		return
	}
	rows := map[spelled]int{}
	for _, g := range j.tally.groups {
		rows[j.spelled(g)] += g.count
	}
	var shown []spelled
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
		case t.found != "":
		case t.typed.Form != reading.Value || t.typed.Drops:
			if m.odd == "" {
				m.odd, m.oddRow = t.text, g.row
			}
		default:
			m.bare = true
			s := j.spelled(g)
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
	for _, m := range j.stated.Methods {
		if m.Name == name {
			return m, true
		}
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
		finest = math.Min(finest, math.Pow10(-d)*j.readingFactor(s))
	}
	if !math.IsInf(finest, 1) {
		m.method.Resolution = finest
	}
}

// readingFactor turns a reading into the trial's scale. With a methods file a
// reading stands on the method's scale already, whatever unit the row gives
// its level in; without one the row's unit is all that is known.
func (j *joiner) readingFactor(s spelled) float64 {
	if f := j.scales.factors[s]; f > 0 && !j.given {
		return f
	}
	return 1
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
		wrong(fMethod, reading.Quote(m.method.Name)+" is not in the methods file", "one of "+j.methodNames())
	}
	for _, c := range [...]struct {
		field field
		texts []number
	}{{fLevel, j.level}, {fULevel, j.uLevel}, {fUShared, j.uShared}, {fDilution, j.dilution}, {fUDilution, j.uDilution}} {
		n := &c.texts[g.ids[c.field]]
		wrong(c.field, n.found, n.want)
	}
	if u, s := j.uLevel[g.ids[fULevel]], j.uShared[g.ids[fUShared]]; u.found == "" && s.found == "" && s.value > u.value*(1+1e-9) {
		wrong(fUShared, fmt.Sprintf("%g is more than u_level, %g", s.value, u.value), "the part of u_level that the levels share")
	}
	s := j.scales.faults[j.spelled(g)]
	if strings.HasPrefix(s[0], "basis") || strings.HasPrefix(s[0], "no basis") {
		wrong(fBasis, s[0], s[1])
	} else {
		wrong(fUnit, s[0], s[1])
	}
	if t := j.typed[g.ids[fReading]]; t.found != "" {
		wrong(fReading, t.found, t.want)
	} else if m.known && !m.faulty {
		if _, err := t.typed.On(m.method); err != nil {
			f := err.(knownwater.Fault)
			wrong(fReading, f.Found, f.Want)
		}
	}
	slices.SortFunc(fs, func(a, b cellFault) int { return int(a.field - b.field) })
	return fs
}

func (j *joiner) methodNames() string {
	var names []string
	for _, m := range j.stated.Methods {
		names = append(names, m.Name)
	}
	return strings.Join(names, ", ")
}

// locate reads the file once more to name every row of the groups with faults.
func (j *joiner) locate(bad map[int][]cellFault) knownwater.Faults {
	var fs knownwater.Faults
	j.sh.each(func(row int, cells [][]byte, _ int) bool {
		ids, tooLong := j.tally.identify(j.sh, row, cells)
		if tooLong != nil {
			return true
		}
		for _, c := range bad[j.tally.index(ids)] {
			fs = append(fs, j.sh.src.fault(row, fieldNames[c.field], c.found, c.want))
		}
		return len(fs) < mostFaults
	})
	return fs
}
