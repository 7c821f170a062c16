package intake

import (
	"math"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
)

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
			m.faulty = j.broken && len(reading.Faults(m.method)) > 0
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
			"%s of method %s is no plain number",
			"a methods file (--methods) that says what kind of method it is", reading.Quote(m.odd), reading.Quote(m.method.Name)))
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
