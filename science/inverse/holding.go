package inverse

import (
	"math"
	"slices"

	"knownwater/science/interval"
)

// Holding is the set widened to hold c, a concentration that is known to have
// given the reading: of its pieces, the one that is nearest is drawn out to c. Its
// ends are open by the same rule as Turn's.
func (a Answer) Holding(r Response, c float64) Answer {
	parts := slices.Clone(a.Parts)
	if parts == nil {
		parts = []interval.Interval{{Low: a.Low, High: a.High}}
		if a.Open == Above {
			parts[0].High = math.Inf(1)
		}
	}
	nearest, away := 0, math.Inf(1)
	for i, p := range parts {
		if d := math.Max(p.Low-c, c-p.High); d < away {
			nearest, away = i, d
		}
	}
	if away <= 0 || math.IsNaN(c) {
		return a
	}
	p := &parts[nearest]
	p.Low, p.High = math.Min(p.Low, c), math.Max(p.High, c)
	bottom, top := r.Range()
	if last := &parts[len(parts)-1]; last.High >= top {
		last.High = math.Inf(1)
		a.Open, a.High = Above, math.NaN()
	} else {
		a.High = last.High
	}
	if parts[0].Low <= bottom {
		parts[0].Low = 0
		if a.Open != Above {
			a.Open = Below
		}
	}
	a.Low = parts[0].Low
	if a.Parts != nil {
		a.Parts = parts
	}
	return a
}
