package knownwater

import (
	"strings"

	"knownwater/science/unit"
)

// Of says whether it is a need of a scale: it names none, or its analyte, or that and the unit ("nitrate mg/L N"). Of a scale that nobody
// stated it is.
func (n Need) Of(s unit.Scale) bool {
	return n.Analyte == "" || s.Analyte == "" || IsOf(n.Analyte, s)
}

// IsOf says whether somebody who named an analyte, with or without the unit, means a scale.
func IsOf(named string, s unit.Scale) bool {
	named = strings.Join(strings.Fields(named), " ")
	return strings.EqualFold(named, s.Analyte) || strings.EqualFold(named, s.Analyte+" "+s.String())
}

// NeedsOf are those that are needs of a scale. A fault where there are needs, and none of it.
func NeedsOf(needs []Need, s unit.Scale) (of []Need, err error) {
	var names []string
	for _, n := range needs {
		if n.Of(s) {
			of = append(of, n)
		} else {
			names = append(names, n.Analyte)
		}
	}
	if of == nil && needs != nil {
		return nil, Fault{Column: "analyte", Found: "needs of %s alone", Want: "a need of %s, or one that names no analyte"}.Of(strings.Join(names, ", "), s.Analyte)
	}
	return of, nil
}
