package intake

import (
	"maps"
	"math"
	"slices"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// spelled is a unit and a basis as rows give them; either may be empty.
type spelled struct{ unit, basis string }

func (s spelled) String() string { return strings.TrimSpace(s.unit + " " + s.basis) }

// scales is how the units of a file's rows turn into the trial's scale.
type scales struct {
	to      unit.Scale
	factors map[spelled]float64
	own     map[spelled]unit.Scale       // of the spellings on which methods show their numbers
	faults  map[spelled]knownwater.Fault // without a place
	fault   knownwater.Fault             // about the file as a whole
	notes   []note.Note
}

// settleScales decides the scale of a trial and the factor of every spelling.
// stated is what the methods file says, any part of it may be empty; rows
// counts the spellings of the levels; shown are those on which methods show
// their numbers, completed by what the trial's scale says.
//
// The methods file's scale stands; where it is silent, the commonest scale of
// the rows; where they are silent too, the one on which all methods show their
// numbers; else mg/L. A note says so. An analyte that nothing names is worked
// out from the bases as far as they tell.
func settleScales(stated unit.Scale, rows map[spelled]int, shown []spelled, w unit.Water) scales {
	s := scales{factors: map[spelled]float64{}, faults: map[spelled]knownwater.Fault{}}
	unitGiven, basisGiven := stated.Unit != "", stated.Basis != ""
	for r := range rows {
		unitGiven = unitGiven || r.unit != ""
		basisGiven = basisGiven || r.basis != ""
	}
	taken := spelled{unit: "mg/L"}
	if one := oneUnit(shown); !unitGiven && one.unit != "" {
		taken = spelled{one.unit, or(stated.Basis, one.basis)}
	}
	full := map[spelled]spelled{} // spellings, completed
	for r := range rows {
		c := spelled{or(r.unit, stated.Unit), or(r.basis, stated.Basis)}
		if !unitGiven {
			c = spelled{taken.unit, or(c.basis, taken.basis)}
		}
		switch {
		case c.unit == "":
			s.faults[r] = knownwater.Fault{Found: "no unit", Want: "the unit, as other rows have, or a methods file that says the unit"}
		case c.basis == "" && basisGiven && !basisBehind(c.unit):
			s.faults[r] = knownwater.Fault{Found: "no basis", Want: "the basis, as other rows have, or a methods file that says the basis"}
		default:
			full[r] = c
		}
	}
	if len(s.faults) > 0 {
		return s
	}
	target := spelled{stated.Unit, stated.Basis}
	if target.unit == "" {
		target = full[commonest(rows)]
	}
	switch {
	case unitGiven:
	case taken.unit == "mg/L":
		s.notes = append(s.notes, note.New("no-unit-anywhere"))
	default:
		s.notes = append(s.notes, note.New("unit-of-the-methods").Name("unit", taken.String()))
	}
	basis := target.basis
	if _, behind, _ := strings.Cut(target.unit, " "); basis == "" {
		basis = behind
	}
	for _, r := range shown {
		if _, known := full[r]; !known {
			full[r] = spelled{or(r.unit, target.unit), or(r.basis, basis)}
		}
	}
	s.convert(stated.Analyte, target, full, w)
	s.own = map[spelled]unit.Scale{}
	for _, r := range shown {
		c := full[r]
		if s.own[r], _ = parse(s.to.Analyte, c); s.own[r].Unit == "" { // the analyte is not known
			s.own[r] = unit.Scale{Unit: c.unit, Basis: c.basis}
		}
	}
	s.noteConversions(rows, full)
	return s
}

// oneUnit is the scale of all spellings that have a unit, or nothing.
func oneUnit(shown []spelled) (one spelled) {
	for _, r := range shown {
		switch {
		case r.unit == "":
		case one.unit == "":
			one = r
		case one != r:
			return spelled{}
		}
	}
	return one
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// basisBehind says whether a unit carries a basis behind it: "mg/L NO3".
func basisBehind(u string) bool { return strings.Contains(strings.TrimSpace(u), " ") }

// commonest is the spelling of most rows; of equals the first in order of
// letters, so that the order of rows does not matter.
func commonest(rows map[spelled]int) spelled {
	var all []spelled
	for r := range rows {
		all = append(all, r)
	}
	sort.Slice(all, func(i, j int) bool {
		if rows[all[i]] != rows[all[j]] {
			return rows[all[i]] > rows[all[j]]
		}
		return all[i].String() < all[j].String()
	})
	if len(all) == 0 {
		return spelled{}
	}
	return all[0]
}

// convert finds the analytes under which every spelling has a meaning. Several
// will do as long as they agree on every factor.
func (s *scales) convert(analyte string, target spelled, full map[spelled]spelled, w unit.Water) {
	candidates := unit.Analytes()
	if analyte != "" {
		if unit.Bases(analyte) == nil {
			s.unknownAnalyte(analyte, target, full)
			return
		}
		candidates = []string{analyte}
	}
	if !s.eachMeans(candidates, full) {
		return
	}
	var fits []unit.Scale
	var factors []map[spelled]float64
	for _, a := range candidates {
		if to, f, err := under(a, target, full, w); err == nil {
			fits, factors = append(fits, to), append(factors, f)
		}
	}
	switch {
	case len(fits) == 0:
		s.fault = knownwater.Fault{Found: "units and bases that no one analyte has", Want: "one analyte a file; the methods file says which"}
		if analyte != "" {
			_, _, err := under(analyte, target, full, w)
			s.fault = knownwater.Fault{Found: "%s", Want: "a unit and basis of %s"}.Of(err.Error(), analyte)
		}
		return
	case !agree(factors):
		s.fault = knownwater.Fault{Found: "units that cannot be compared without the analyte", Want: "a methods file that says the analyte"}
		return
	}
	s.to, s.factors = fits[0], factors[0]
	noBasis := target.basis == "" && !basisBehind(target.unit)
	switch {
	case len(fits) > 1 && noBasis:
		s.to.Analyte, s.to.Basis = "", ""
	case len(fits) > 1:
		s.to.Analyte = ""
	case noBasis && len(unit.Bases(s.to.Analyte)) > 1:
		s.notes = append(s.notes, note.New("no-basis-given").Name("basis", s.to.Basis))
	}
}

// parse settles one spelling; a basis that comes from the methods file gives
// way to one behind the unit.
func parse(analyte string, c spelled) (unit.Scale, error) {
	sc, err := unit.Parse(analyte, c.unit, c.basis)
	if err != nil && basisBehind(c.unit) {
		if sc, err := unit.Parse(analyte, c.unit, ""); err == nil {
			return sc, nil
		}
	}
	return sc, err
}

// eachMeans faults the spellings that have no meaning under any candidate.
func (s *scales) eachMeans(candidates []string, full map[spelled]spelled) bool {
	for r, c := range full {
		var first error
		ok := false
		for _, a := range candidates {
			_, err := parse(a, c)
			ok = ok || err == nil
			if first == nil {
				first = err
			}
		}
		if !ok {
			f := knownwater.Fault{Found: "unit %s with basis %s", Want: "a unit such as mg/L, mg/kg, umol/L, umol/kg or dKH, and a basis such as NO3, N, PO4 or P"}.Of(reading.Quote(c.unit), reading.Quote(c.basis))
			if len(candidates) == 1 {
				f = knownwater.Fault{}
				f.Found, f.Want, _ = strings.Cut(first.Error(), ": ")
			}
			s.faults[r] = f
		}
	}
	return len(s.faults) == 0
}

// under is the scale and the factors if the analyte is a.
func under(a string, target spelled, full map[spelled]spelled, w unit.Water) (unit.Scale, map[spelled]float64, error) {
	to, err := parse(a, target)
	if err != nil {
		return to, nil, err
	}
	factors := map[spelled]float64{}
	for r, c := range full {
		from, err := parse(a, c)
		if err != nil {
			return to, nil, err
		}
		f, err := unit.Factor(from, to, w)
		if err != nil {
			return to, nil, err
		}
		if from == to {
			f = 1
		}
		factors[r] = f
	}
	return to, factors, nil
}

func agree(factors []map[spelled]float64) bool {
	for _, f := range factors[1:] {
		for r, v := range f {
			if math.Abs(v/factors[0][r]-1) > 1e-9 {
				return false
			}
		}
	}
	return true
}

// unknownAnalyte takes one unit and basis on trust, since nothing is to be converted.
func (s *scales) unknownAnalyte(analyte string, target spelled, full map[spelled]spelled) {
	s.to = unit.Scale{Analyte: analyte, Unit: target.unit, Basis: target.basis}
	if sc, err := unit.Parse("potassium", target.unit, ""); err == nil {
		s.to.Unit = sc.Unit
	} else {
		s.fault = knownwater.Fault{Found: "unit %s", Want: "a unit such as mg/L, mg/kg, umol/L or umol/kg"}.Of(reading.Quote(target.unit))
		return
	}
	for r, c := range full {
		sc, err := unit.Parse("potassium", c.unit, "")
		if err != nil || sc.Unit != s.to.Unit || !strings.EqualFold(c.basis, target.basis) {
			s.faults[r] = knownwater.Fault{Found: "%s beside %s", Want: "one unit and basis: factors are known only for %s"}.
				Of(c.String(), target.String(), strings.Join(unit.Analytes(), ", "))
			continue
		}
		s.factors[r] = 1
	}
	s.notes = append(s.notes, note.New("analyte-not-known").Name("analyte", analyte))
}

func (s *scales) noteConversions(rows map[spelled]int, full map[spelled]spelled) {
	ppm, turned := false, map[string]float64{} // by how the unit is spelled
	for r, c := range full {
		ppm = ppm || isPPM(c.unit)
		if f := s.factors[r]; f != 1 && rows[r] > 0 {
			turned[c.String()] = f
		}
	}
	for _, from := range slices.Sorted(maps.Keys(turned)) {
		s.notes = append(s.notes, note.New("levels-turned").Name("from", from).Name("to", s.to.String()).Number("factor", turned[from]))
	}
	if ppm {
		s.notes = append(s.notes, note.New("ppm-is-mg-per-litre"))
	}
}

func isPPM(u string) bool {
	first, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(u)), " ")
	return first == "ppm" || first == "ppb"
}
