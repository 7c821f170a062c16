package handover

import (
	"math"

	"knownwater/science/curve"
)

// CheckLevel is the known to prove a typed-in curve with: the undiluted one
// above nothing and within the range that lies nearest to the range's middle,
// or the middle itself where there is none.
func CheckLevel(d curve.Document) float64 {
	middle := (d.Range.LevelLow + d.Range.LevelHigh) / 2
	best, found := middle, false
	for _, p := range d.Points {
		if p.Dilution == 1 && p.Level > 0 && p.Level <= d.Range.LevelHigh && (!found || math.Abs(p.Level-middle) < math.Abs(best-middle)) {
			best, found = p.Level, true
		}
	}
	return best
}
