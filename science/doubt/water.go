package doubt

import (
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
)

// AskWater asks about the water of the knowns: pure water for a use in salt
// water, and salinity and temperature that nobody stated. The latter holds
// nothing back: between a litre and a kilogram it is a matter of 2 %, and what
// it does to a method no computation tells.
func AskWater(t knownwater.Trial, all []Readings) []Question {
	var qs []Question
	for _, s := range all {
		salty := slices.ContainsFunc(all, func(o Readings) bool {
			return o.Method.Name == s.Method.Name && o.Matrix != "" && !pureWater(o.Matrix)
		})
		asked := slices.ContainsFunc(qs, func(q Question) bool { return q.Method == s.Method.Name && q.Matrix == s.Matrix })
		if !pureWater(s.Matrix) || salty || asked || t.WaterStated && t.Water.Salinity == 0 {
			continue
		}
		qs = append(qs, Question{Kind: OfWater, Method: s.Method.Name, At: PlacesOf(s.Obs),
			Says: note.New("ask-pure-water").Name("matrix", s.Matrix), Matrix: s.Matrix})
	}
	if !t.WaterStated {
		qs = append(qs, Question{Kind: OfWater, At: []Place{},
			Says: note.New("ask-water").Number("salinity", t.Water.Salinity).Number("temperature", t.Water.Temperature)})
	}
	for i := range qs {
		qs[i].Keyed()
	}
	return qs
}

// pureWater says whether a matrix is water without salt, by its name.
func pureWater(matrix string) bool {
	m := strings.ToLower(matrix)
	if strings.Contains(m, "salt") || strings.Contains(m, "sea") || strings.Contains(m, "tank") {
		return false
	}
	for _, w := range []string{"pure", "distilled", "deioni", "demineral", "fresh", "osmosis"} {
		if strings.Contains(m, w) {
			return true
		}
	}
	return slices.ContainsFunc(strings.FieldsFunc(m, func(r rune) bool { return !(r >= 'a' && r <= 'z') }),
		func(word string) bool { return word == "ro" || word == "rodi" || word == "di" })
}
