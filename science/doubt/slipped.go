package doubt

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
)

// slipOff is how far a reading has to lie from the others at its level, in
// scatters, to be named as one that disagrees.
const slipOff = 8

// fewPairs widens that where the scatter rests on few pairs.
const fewPairs = 4.0

// askSlips names the readings that disagree with all others at their level,
// and that nothing above explains. They are never left out by themselves.
func (s *Sight) askSlips() []Question {
	var rows []int
	var level, read, expected []float64
	for i, r := range s.rows {
		if s.taken[i] || math.IsNaN(r.y) || r.o.Count > 1 {
			continue
		}
		mates, ok := s.mates(r.level, i)
		if !ok {
			continue
		}
		if sd, pairs := s.scatterOf(mates, r.level, i); away(r.seen, mates) > slipOff*(1+fewPairs/float64(1+pairs))*sd {
			rows, level, read, expected = append(rows, i), append(level, r.o.Level), append(read, r.y), append(expected, mates)
		}
	}
	if len(rows) == 0 || 4*len(rows) > len(s.rows) {
		return nil
	}
	return []Question{{
		Kind: OfSlip, Method: s.method.Name, At: PlacesOf(s.obs(rows)),
		Says:   note.New("ask-slip").Number("level", level...).Number("read", read...).Number("expected", expected...),
		Matrix: s.matrix, Mends: []Mend{s.leaveOut(rows)},
	}}
}

// leaveOut is the trial without some rows.
func (s *Sight) leaveOut(rows []int) Mend {
	out := map[which]bool{}
	for _, i := range rows {
		out[whichOf(s.rows[i].o)] = true
	}
	return func(t knownwater.Trial) knownwater.Trial {
		t.Observations = slices.DeleteFunc(slices.Clone(t.Observations), func(o knownwater.Observation) bool {
			return out[whichOf(o)]
		})
		return t
	}
}
