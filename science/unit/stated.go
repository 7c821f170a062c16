package unit

import "strings"

// Stated is the scale that somebody stated in part: of what, per what, counted as what;
// any may be empty, the basis may stand behind the unit ("mg/L NO3"). An analyte that is not named
// is the only one that has such a unit and basis, or stays empty, as does a basis that is
// neither stated nor the only one. The error says what would be right.
func Stated(analyte, unitText, basisText string) (Scale, error) {
	if strings.TrimSpace(unitText) == "" {
		if analyte == "" {
			return Scale{}, nil
		}
		a, err := findAnalyte(analyte)
		return Scale{Analyte: a.name}, err
	}
	if analyte != "" {
		return Parse(analyte, unitText, basisText)
	}
	var fits []Scale
	var first error
	for _, a := range Analytes() {
		s, err := Parse(a, unitText, basisText)
		switch {
		case err == nil:
			fits = append(fits, s)
		case first == nil:
			first = err
		}
	}
	switch len(fits) {
	case 0:
		return Scale{}, first
	case 1:
		return fits[0], nil
	}
	one := fits[0]
	one.Analyte = ""
	for _, s := range fits[1:] {
		if s.Basis != one.Basis {
			one.Basis = ""
		}
	}
	return one, nil
}
