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
// and that nothing above explains. They are never left out by themselves. Of a level
// in two halves each disagrees with the other: nothing is named there.
func (s *Sight) askSlips() []Question {
	odd, mates := map[int][]int{}, map[int]float64{} // rows by level, and what the others at each row's level say
	for i, r := range s.rows {
		if s.taken[i] || math.IsNaN(r.y) || r.o.Count > 1 {
			continue
		}
		m, ok := s.mates(r.level, i)
		if !ok {
			continue
		}
		if sd, pairs := s.scatterOf(m, r.level, i); away(r.seen, m) > slipOff*(1+fewPairs/float64(1+pairs))*sd {
			odd[r.level], mates[i] = append(odd[r.level], i), m
		}
	}
	var rows []int
	var level, read, expected []float64
	for l := range s.levels {
		if 2*len(odd[l]) >= len(s.middlesAt(l, nil)) {
			continue
		}
		for _, i := range odd[l] {
			rows, level, read, expected = append(rows, i), append(level, s.levels[l].c), append(read, s.rows[i].y), append(expected, mates[i])
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
