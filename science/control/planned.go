package control

import (
	"slices"

	"knownwater/science/num"
)

// DelayFor is after how many checks on average a row's charts ring where readings of the known
// have been ratio times what they were from the first check on: in half of the draws at most
// that. Infinite where no chart can be drawn.
func DelayFor(r Row, l Limits, ratio float64) float64 {
	var all []float64
	for _, m := range r.models() {
		u := m.unit
		shift := (ratio - 1) * u.Mean / u.SD
		for _, d := range m.draws {
			all = append(all, slices.Min(l.runLengths(Normal{d.Mean + shift, d.SD}, m)))
		}
	}
	slices.Sort(all)
	return num.Quantile(all, 0.5)
}
