package assess

import (
	"math"

	"knownwater"
	"knownwater/science/note"
)

// uncovered is the end of the need that neither branch's knowns reached.
func (s switched) uncovered(n knownwater.Need) (note.Note, bool) {
	slack := 0.02 * (n.High - n.Low)
	b1, t1 := reach(s.plain.levels, s.plain.rec.Bottom)
	b2, t2 := reach(s.diluted.levels, s.diluted.rec.Bottom)
	switch {
	case n.Low < math.Min(b1, b2)-slack:
		return note.New("not-tested-below").Number("level", math.Min(s.plain.rec.Bottom, s.diluted.rec.Bottom)), true
	case n.High > math.Max(t1, t2)+slack:
		return note.New("not-tested-above").Number("level", math.Max(s.plain.rec.Top, s.diluted.rec.Top)), true
	case n.High > nearSwitch*t1 && s.sent(nearSwitch*t1) < 0.5:
		return note.New("not-tested-undiluted").Number("level", s.plain.rec.Top).Number("over", s.over), true
	case n.Low < b2/nearSwitch && s.sent(b2/nearSwitch) > 0.5:
		return note.New("not-tested-diluted").Number("level", s.diluted.rec.Bottom).Number("over", s.over), true
	}
	return note.Note{}, false
}

// nearSwitch is how far from its last known, as a ratio, a branch may be used where the other one takes
// over: our convention. Neither says anything of a response beyond what was tried, and samples about the
// switch may lie between the two.
const nearSwitch = 4. / 3

// sent is the share of samples of c that are diluted, over the draws.
func (s switched) sent(c float64) float64 {
	leaves, sum := s.leaves(), 0.0
	draws := s.plain.behaviourAt(c).form
	for _, d := range draws {
		sum += leaves(d)
	}
	return sum / float64(len(draws))
}
