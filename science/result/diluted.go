package result

import (
	"knownwater/science/interval"
	"knownwater/science/inverse"
)

// Diluted is a source whose samples were diluted by a factor before they were read: it
// speaks of the sample, the source of what was in the cell. The factor's uncertainty is
// the source's.
type Diluted struct {
	Source
	Factor float64
}

type scaled struct {
	inverse.Scaled
	cell Response
}

// Of is the source's response in concentrations of the sample.
func (d Diluted) Of(by []Readings, quick bool) Response {
	r := d.Source.Of(by, quick)
	return scaled{inverse.Scaled{Response: r, K: d.Factor}, r}
}

func (s scaled) Chance(c float64, seen interval.Interval) float64 {
	return s.cell.Chance(c/s.K, seen)
}

func (s scaled) Uncertainty(c float64) float64 {
	return s.K * s.cell.Uncertainty(c/s.K)
}

// Next is the source's, for what the cell held.
func (d Diluted) Next(c, y float64, had []Readings, more Readings) (mean, sd float64) {
	return d.Source.Next(c/d.Factor, y, had, more)
}
