package control

import (
	"slices"

	"knownwater/science/num"
)

// DelayFor is after how many checks on average a row's charts ring where readings of the known
// become ratio times what they were while the sums are at 0 (Limits.Delay): in half of the draws
// at most that. Infinite where no chart can be drawn.
//
// s remembers delays; nil: nobody does.
func DelayFor(r Row, l Limits, ratio float64, s *Solved) float64 {
	ms := r.models()
	if s == nil {
		return delayFor(ms, l, ratio)
	}
	k := delayKey{keyOf(r, ms, true), ratio}
	s.mu.Lock()
	known, there := s.delays[k]
	s.mu.Unlock()
	if there {
		return known
	}
	d := delayFor(ms, l, ratio)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.delays == nil || len(s.delays) >= mostSolved {
		s.delays = map[delayKey]float64{}
	}
	s.delays[k] = d
	return d
}

// delayKey is what a delay depends on: limits follow from the row.
type delayKey struct {
	row   solvedKey
	ratio float64
}

func delayFor(ms []model, l Limits, ratio float64) float64 {
	var all []float64
	for _, m := range ms {
		u := m.unit
		shift := (ratio - 1) * u.Mean / u.SD
		for _, d := range m.draws {
			all = append(all, slices.Min(l.runLengths(Normal{d.Mean + shift, d.SD}, m, noHeadStart)))
		}
	}
	slices.Sort(all)
	return num.Quantile(all, 0.5)
}
