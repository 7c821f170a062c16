package control

import (
	"encoding/binary"
	"hash"
	"hash/fnv"
	"math"
	"sync"

	"knownwater/science/interval"
)

// Solved remembers limits that were solved: they depend on how checks are distributed where nothing has
// moved, not on what was seen, so lots and later checks of one known share them. Its zero value is ready; it may be
// asked from several goroutines.
type Solved struct {
	mu     sync.Mutex
	done   map[solvedKey]solvedLimits
	delays map[delayKey]float64
}

// solvedKey is a fingerprint of all that limits are solved from.
type solvedKey [16]byte

type solvedLimits struct {
	Limits
	ok bool
}

// mostSolved are remembered; a bench has as many as records times knowns.
const mostSolved = 500

func (s *Solved) limits(r Row, ms []model) (Limits, bool) {
	if s == nil {
		return r.limits(ms)
	}
	k := keyOf(r, ms, false)
	s.mu.Lock()
	known, there := s.done[k]
	s.mu.Unlock()
	if there {
		return known.Limits, known.ok
	}
	l, ok := r.limits(ms)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.done == nil || len(s.done) >= mostSolved {
		s.done = map[solvedKey]solvedLimits{}
	}
	s.done[k] = solvedLimits{l, ok}
	return l, ok
}

// keyOf tells rows apart by what their limits depend on, and where ratio is asked by what a ratio
// of the known shifts, too: limits are in standard deviations.
func keyOf(r Row, ms []model, ratio bool) (k solvedKey) {
	h := fnv.New128a()
	put(h, r.between(), r.shift())
	for _, m := range ms {
		put(h, m.weight, float64(len(m.all)), float64(len(m.tiles)))
		for _, d := range m.all {
			put(h, d.Mean, d.SD)
		}
		intervals(h, m.tiles)
		if ratio {
			put(h, m.unit.Mean/m.unit.SD)
		}
	}
	if r.Tiles == nil {
		put(h, -1)
	}
	h.Sum(k[:0])
	return k
}

func intervals(h hash.Hash, list []interval.Interval) {
	for _, i := range list {
		put(h, i.Low, i.High)
	}
}

func put(h hash.Hash, values ...float64) {
	var b [8]byte
	for _, v := range values {
		binary.LittleEndian.PutUint64(b[:], math.Float64bits(v))
		_, _ = h.Write(b[:]) // a hash does not fail
	}
}
