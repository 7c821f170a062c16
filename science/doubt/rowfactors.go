package doubt

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// How far a row has to lie from what is expected, in scatters, to be asked
// about; how near to it once the factor is taken off; and the least factor
// that is told by the line through the other levels alone, which bends.
const (
	rowOff, rowNear = 4, 3
	unitOff         = 6 // a unit is seldom another one for a single row
	leastByLine     = 2.5
)

// askRows asks about single rows that are a factor off what the rest let
// expect: of a unit, a basis, or a dilution forgotten or counted twice. What
// is expected is the median of the other readings at the level and the line
// through the other levels; where the line bears the row out, the others are
// the odd ones and the row is not asked about. Once some are found the rest is
// looked at again: they made the scatter look larger.
func (s *Sight) askRows() []Question {
	ways := s.rowWays()
	ratios, rows := make([][]float64, len(ways)), make([][]int, len(ways))
	for range mostPasses {
		found := false
		for i, r := range s.rows {
			if s.taken[i] || math.IsNaN(r.y) || r.o.Level == 0 || s.signal() && r.o.Dilution == 1 {
				continue
			}
			if k, ratio := s.rowFactor(i, ways); k >= 0 {
				ratios[k], rows[k] = append(ratios[k], ratio), append(rows[k], i)
				found = true
			}
		}
		if !found {
			break
		}
		for _, list := range rows {
			for _, i := range list {
				s.taken[i] = true
			}
		}
		s.findScatter()
	}
	var qs []Question
	for k, e := range ways {
		if len(rows[k]) == 0 {
			continue
		}
		ratio := median(ratios[k])
		would := alsoFor(e, ratio, ways)
		qs = append(qs, Question{
			Kind: e.kind(s.scale), Method: s.method.Name, At: PlacesOf(s.obs(rows[k])),
			Says:   note.New("ask-rows").Number("ratio", ratio).Since(notesOf(would)...),
			Matrix: s.matrix, Mends: s.eachWay(would, rows[k]),
		})
	}
	return qs
}

// mostPasses bounds how often the rest is looked at again.
const mostPasses = 4

// alsoFor puts the explanation that rows were found by first, then the others
// that would explain them.
func alsoFor(e explanation, ratio float64, ways []explanation) []explanation {
	out := []explanation{e}
	for _, o := range explain(ratio, ways) {
		if o != e {
			out = append(out, o)
		}
	}
	return out
}

// rowWays are the factors that single rows are held against, dilutions first:
// they are forgotten row by row, a unit seldom is.
func (s *Sight) rowWays() []explanation {
	var out []explanation
	for _, d := range s.dilutions() {
		out = addFactor(out, explanation{factor: 1 / d, dilution: d, forgot: true})
		out = addFactor(out, explanation{factor: d, dilution: d})
	}
	if s.signal() {
		return out
	}
	return append(out, turned(scalesBeside(s.scale))...)
}

// rowFactor is the way that explains a row, and its ratio to what is expected;
// −1 where none does or none is needed.
func (s *Sight) rowFactor(i int, ways []explanation) (way int, ratio float64) {
	r := s.rows[i]
	mates, ok := s.mates(r.level, i)
	byLine := math.NaN()
	if l, ok := s.lineWithout(r.level, 3); ok && !s.signal() && l.at(r.o.Level) > 0 {
		byLine = l.at(r.o.Level)
	}
	borneOut := !math.IsNaN(byLine) && away(r.seen, byLine) <= rowOff*s.scatter(byLine, r.level, i)
	if ok && !borneOut {
		if k := s.wayTo(i, mates, ways, leastFactor); k >= 0 {
			return k, r.y / mates
		}
	}
	if k := s.wayTo(i, byLine, ways, leastByLine); k >= 0 {
		return k, r.y / byLine
	}
	return -1, 0
}

// wayTo is the nearest way that brings a row to an expected value from far off.
func (s *Sight) wayTo(i int, expected float64, ways []explanation, least float64) int {
	r := s.rows[i]
	sd := s.scatter(expected, r.level, i)
	if !(expected > 4*s.floor) || away(r.seen, expected) <= rowOff*sd {
		return -1
	}
	best, at := math.Inf(1), -1
	for k, e := range ways {
		if e.scale != (unit.Scale{}) && away(r.seen, expected) <= unitOff*sd {
			continue
		}
		d := math.Abs(math.Log(r.y / e.factor / expected))
		if math.Abs(math.Log(e.factor)) >= math.Log(least) && d <= ownBias && d < best-perAssume*b2i(at >= 0) &&
			away(r.seen.Scale(1/e.factor), expected) <= rowNear*sd {
			best, at = d, k
		}
	}
	return at
}

// b2i is 1 for true: the ways stand in the order in which they are likely, and
// a later one has to be clearly nearer.
func b2i(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (s *Sight) obs(rows []int) []knownwater.Observation {
	var out []knownwater.Observation
	for _, i := range rows {
		out = append(out, s.rows[i].o)
	}
	return out
}

// undilute is the trial with the factor taken off rows; a dilution that was
// forgotten in the table moves the rows to the readings at that dilution.
func (s *Sight) undilute(e explanation, rows []int) Mend {
	if e.dilution == 0 || !e.forgot || rows == nil {
		return s.divide(e.factor, rows)
	}
	listed := map[which]bool{}
	for _, i := range rows {
		listed[whichOf(s.rows[i].o)] = s.rows[i].o.Dilution == 1
	}
	return func(t knownwater.Trial) knownwater.Trial {
		t.Observations = slices.Clone(t.Observations)
		for i := range t.Observations {
			o := &t.Observations[i]
			if plain, ok := listed[whichOf(*o)]; ok {
				if plain {
					o.Dilution = e.dilution
				} else {
					o.Seen = o.Seen.Scale(e.dilution)
				}
			}
		}
		return t
	}
}
