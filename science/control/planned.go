package control

import "math"

// DelayFor is the number of checks within which, in enough of all cases, a row's charts ring where readings of the known
// become ratio times what they were after some checks that had not moved, over all that is not known of the record (Limits.DelayMost).
// Infinite where no chart can be drawn, and beyond Furthest.
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
	if len(ms) == 0 {
		return math.Inf(1)
	}
	return reachedBy(l.rings(ms, before, func(_ int, m model) float64 { return (ratio - 1) * m.unit.Mean / m.unit.SD }), enough)
}
