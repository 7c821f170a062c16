package reading

import (
	"math"
	"slices"

	"knownwater"
)

// Suggest is what a method looks like by readings that were written down, for a
// person to confirm: drops where a reading counts them, a chart whose swatches are
// the numbers that were seen where a reading lies between two, else a display
// whose last digit is the finest that was seen. Swatches that nobody matched
// cannot be known from readings.
func Suggest(name string, seen []Typed) knownwater.Method {
	m := knownwater.Method{Name: name, Kind: knownwater.Display}
	finest := 0
	var swatches []float64
	for _, t := range seen {
		switch {
		case t.Drops:
			return knownwater.Method{Name: name, Kind: knownwater.Drops}
		case t.Form == Range:
			m.Kind = knownwater.Chart
		}
		finest = max(finest, t.Decimals)
		swatches = append(swatches, t.Low, t.High)
	}
	if m.Kind == knownwater.Chart {
		slices.Sort(swatches)
		m.Swatches, m.AtShare = slices.Compact(swatches), knownwater.DefaultAtShare
		return m
	}
	m.Resolution = math.Pow10(-finest)
	return m
}
