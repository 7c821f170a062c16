package intake

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/reading"
)

// cellFault is a fault in a row whose number is not known yet.
type cellFault struct {
	field field
	fault knownwater.Fault
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
	bad := func(f field, x knownwater.Fault) {
		if x.Found != "" {
			fs = append(fs, cellFault{f, x})
		}
	}
	wrong := func(f field, found, want string, values ...any) {
		bad(f, knownwater.Fault{Found: found, Want: want}.Of(values...))
	}
	m := j.method[g.ids[fMethod]]
	switch {
	case m.method.Name == "":
		wrong(fMethod, "nothing", "the method's name")
	case !m.known && j.given && !j.broken:
		wrong(fMethod, "%s is not in the methods file", "one of %s%s", reading.Quote(m.method.Name), j.names, j.perhaps(m.method.Name))
	}
	for _, c := range [...]struct {
		field field
		texts []number
	}{{fLevel, j.level}, {fULevel, j.uLevel}, {fUShared, j.uShared}, {fUBackground, j.uBackground}, {fDilution, j.dilution}, {fUDilution, j.uDilution}, {fNitrite, j.nitrite}, {fUNitrite, j.uNitrite}} {
		n := &c.texts[g.ids[c.field]]
		bad(c.field, n.fault())
	}
	switch u, s, b := j.uLevel[g.ids[fULevel]], j.uShared[g.ids[fUShared]], j.uBackground[g.ids[fUBackground]]; {
	case u.odd != nil || s.odd != nil || b.odd != nil:
	case s.value > u.value*(1+1e-9):
		wrong(fUShared, "%g is more than u_level, %g", "the part of u_level that the levels share", s.value, u.value)
	case b.value > u.value*(1+1e-9):
		wrong(fUBackground, "%g is more than u_level, %g", "the part of u_level that comes from the water's background", b.value, u.value)
	case math.Hypot(s.value, b.value) > u.value*knownwater.PartsRounded:
		wrong(fUBackground, "%g and u_shared, %g, are together more than u_level, %g: %.4g", "two parts whose squares add up to no more than the square of u_level",
			b.value, s.value, u.value, math.Hypot(s.value, b.value))
	}
	s := j.scales.faults[j.spelled(g)]
	if strings.HasPrefix(s.Found, "basis") || strings.HasPrefix(s.Found, "no basis") {
		bad(fBasis, s)
	} else {
		bad(fUnit, s)
	}
	shown, stated := j.shownIn(g)
	unitFault := j.scales.faults[shown]
	switch {
	case t.bad():
		bad(fReading, t.fault())
	case stated && t.unit != "" && unitFault.Found != "":
		bad(fReading, unitFault)
	case !m.known || m.faulty:
	case t.dashed && reading.Of(m.method.Kind).Counts:
		low, high, _ := strings.Cut(t.text, "..")
		wrong(fReading, "%s could be drops or concentrations", "%sd..%sd for drops, or %s", reading.Quote(t.text), low, high, t.text)
	default:
		if _, _, err := j.see(g); err != nil {
			bad(fReading, err.(knownwater.Fault))
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
			if f := j.sh.src.at(row, name, c.fault); len(fs) == 0 || fs[len(fs)-1].Error() != f.Error() {
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
