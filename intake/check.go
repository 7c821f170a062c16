package intake

import (
	"fmt"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/reading"
)

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
	}{{fLevel, j.level}, {fULevel, j.uLevel}, {fUShared, j.uShared}, {fDilution, j.dilution}, {fUDilution, j.uDilution}, {fNitrite, j.nitrite}, {fUNitrite, j.uNitrite}} {
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
