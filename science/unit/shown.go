package unit

import (
	"slices"
	"strings"
)

// Offered are the scales in which people like to see an analyte (common practice, no
// source), the usual one first. All are by the litre: one turns into another by molar
// masses alone, and nobody has to know the water.
func Offered(name string) (out []Scale) {
	a, err := findAnalyte(name)
	if err != nil {
		return nil
	}
	if a.alkaline {
		return []Scale{{a.name, "dKH", ""}, {a.name, "meq/L", ""}, {a.name, "mg/L", a.bases[0]}}
	}
	units := []string{"mg/L", "ug/L", "umol/L"}
	if a.plenty {
		units = []string{"mg/L", "mmol/L"}
	}
	for _, u := range units {
		for i, b := range a.bases {
			if measures[u].dimension == mass || i == 0 { // a count of molecules is the same in every basis
				out = append(out, Scale{a.name, u, b})
			}
		}
	}
	return out
}

// Brief is the scale for people in as few words as cannot be mistaken: without the basis
// where it is the one that is meant when nobody says, "mg/L" for nitrate as NO3 and
// "mg/L N" for nitrate as N.
func (s Scale) Brief() string {
	if a, err := findAnalyte(s.Analyte); err != nil || !a.alkaline && s.Basis == a.bases[0] {
		s.Basis = ""
	}
	return s.String()
}

// Choices are the scales in which somebody wants to see analytes, one for each at most; the
// zero value leaves every value on the scale of its method.
type Choices string

// BetweenChoices stands between them; each is analyte:unit or analyte:unit:basis.
const (
	BetweenChoices = ";"
	withinChoice   = ":"
)

// ChoicesOf reads choices from a text; what is not offered is left out.
func ChoicesOf(text string) (c Choices) {
	for one := range strings.SplitSeq(text, BetweenChoices) {
		p := append(strings.Split(one, withinChoice), "", "")
		c = c.With(Scale{p[0], p[1], p[2]})
	}
	return c
}

// With is the choices with one more, in the place of an earlier one of its analyte.
func (c Choices) With(s Scale) Choices {
	if !slices.Contains(Offered(s.Analyte), s) {
		return c
	}
	one := s.Analyte + withinChoice + s.Unit
	if s.Basis != "" {
		one += withinChoice + s.Basis
	}
	list := slices.DeleteFunc(strings.Split(string(c), BetweenChoices), func(x string) bool { return x == "" || strings.HasPrefix(x, s.Analyte+withinChoice) })
	list = append(list, one)
	slices.Sort(list)
	return Choices(strings.Join(list, BetweenChoices))
}

// Of is the choice for an analyte.
func (c Choices) Of(analyte string) (s Scale, chosen bool) {
	for one := range strings.SplitSeq(string(c), BetweenChoices) {
		if p := strings.Split(one, withinChoice); analyte != "" && p[0] == analyte {
			p = append(p, "")
			return Scale{p[0], p[1], p[2]}, true
		}
	}
	return s, false
}

// Turn is how values that stand on one scale are shown on another: times K. Differences,
// spreads and errors are turned as levels are, as no scale of a concentration has an offset.
type Turn struct {
	To Scale
	K  float64
}

// Turn is how a value on a scale is shown. By the kilogram it stays as it is: the density of
// its water is not known. So does what has no analyte.
func (c Choices) Turn(from Scale) Turn {
	same := Turn{from, 1}
	to, chosen := c.Of(from.Analyte)
	if !chosen || to == from || measures[from.Unit].per != litre {
		return same
	}
	k, err := Factor(from, to, StandardSea) // the water does not matter between litres
	if err != nil {
		return same
	}
	return Turn{to, k}
}

// Same says that a value is shown as it is.
func (t Turn) Same() bool { return t.K == 1 }
