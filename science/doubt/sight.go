// Package doubt asks about what was handed in, before anything is made of it: another unit or basis, a
// dilution forgotten, vials swapped, slips, a display's end, a table entered twice, the water. It
// looks at readings plainly, by medians, without a model, so that what it doubts cannot mislead it.
// A question brings the trial as it would be (Mend); nothing is corrected by itself.
package doubt

import (
	"cmp"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Sight is a plain, robust look at all readings of one method in one water,
// whatever their dilution: medians and lines through medians, no model.
// Questions start from it, so that what they ask about does not mislead them.
type Sight struct {
	method knownwater.Method
	matrix string
	scale  unit.Scale
	rows   []row // rising by level
	levels []seenLevel
	chosen []int        // levels that lines are drawn through
	taken  map[int]bool // rows that a question explains already: they speak no more
	table  []*Sight     // all methods, where the table of several was entered twice by the look of it
	floor  float64
	share  float64
}

// row is a distinct reading as a concentration. y is its middle; a reading that
// is open above has none, one that is open below counts as between 0 and its end.
type row struct {
	o     knownwater.Observation
	seen  interval.Interval
	y     float64
	level int
}

type seenLevel struct {
	c, centre float64 // the known, and the median reading; not a number where all are open
	rows      []int
	pairs     *pairing // nil: not looked at
	halves    *halves  // nil: not looked at
}

// halves are the median of the readings at a level, and how far its two halves
// lie apart.
type halves struct {
	at, gap float64
	n       int
}

// manyRows is from where on one row at a level more or less moves no median that
// anything hangs on: no row is left out there, so that the look at a level costs
// its rows and not their square.
const manyRows = 150

type pairing struct {
	median float64
	n      int
}

// signal says whether the method's readings are of light: they have no unit,
// and a dilution does not scale them.
func (s *Sight) signal() bool {
	return reading.Of(s.method.Kind).Signal
}

// Readings are those of one method at one dilution in one water, in one order.
type Readings struct {
	Method knownwater.Method
	Matrix string
	Obs    []knownwater.Observation
}

// Sights gathers the readings of every method of a trial in every water.
func Sights(scale unit.Scale, readings []Readings) []*Sight {
	var all []*Sight
	for _, r := range readings {
		i := slices.IndexFunc(all, func(a *Sight) bool { return a.method.Name == r.Method.Name && a.matrix == r.Matrix })
		if i < 0 {
			i = len(all)
			all = append(all, &Sight{method: r.Method, matrix: r.Matrix, scale: scale, taken: map[int]bool{}})
		}
		all[i].add(r.Obs)
	}
	if len(all) > 1 && tableTwice(all) {
		for _, s := range all {
			s.table = all
		}
	}
	return all
}

func (s *Sight) add(obs []knownwater.Observation) {
	for _, o := range obs {
		r := row{o: o, seen: o.On(), y: math.NaN()}
		switch {
		case r.seen.OpenAbove():
		case r.seen.OpenBelow():
			r.y = math.Max(0, r.seen.High) / 2
		default:
			r.y = r.seen.Mid()
		}
		s.rows = append(s.rows, r)
	}
}

// mostInLine bounds the levels that a line is drawn through: pairs are looked at.
const mostInLine = 60

// look finds levels, lines and scatter.
func (s *Sight) look() {
	slices.SortStableFunc(s.rows, func(a, b row) int { return cmp.Compare(a.o.Level, b.o.Level) })
	for i := range s.rows {
		r := &s.rows[i]
		if n := len(s.levels); n == 0 || s.levels[n-1].c != r.o.Level {
			s.levels = append(s.levels, seenLevel{c: r.o.Level})
		}
		r.level = len(s.levels) - 1
		l := &s.levels[r.level]
		l.rows = append(l.rows, i)
	}
	for i := range s.levels {
		s.levels[i].centre = s.median(s.levels[i].rows)
	}
	for i, l := range s.levels {
		if !math.IsNaN(l.centre) {
			s.chosen = append(s.chosen, i)
		}
	}
	if n := len(s.chosen); n > mostInLine {
		thin := make([]int, mostInLine)
		for k := range thin {
			thin[k] = s.chosen[k*(n-1)/(mostInLine-1)]
		}
		s.chosen = thin
	}
	s.findScatter()
}

// median of the middles of rows, counts as weights.
func (s *Sight) median(rows []int) float64 {
	var v, w []float64
	for _, i := range rows {
		if !math.IsNaN(s.rows[i].y) {
			v, w = append(v, s.rows[i].y), append(w, float64(s.rows[i].o.Count))
		}
	}
	return weightedMedian(v, w)
}

// mates is the median of the other readings at a level; false with fewer than
// two of them, or where they disagree so much that it lies between two camps.
func (s *Sight) mates(level int, without ...int) (m float64, ok bool) {
	l := &s.levels[level]
	mid := l.halves
	if len(l.rows) < manyRows {
		mid = s.middleOf(level, without)
	} else if mid == nil {
		mid = s.middleOf(level, nil)
		l.halves = mid
	}
	if mid.n < 2 {
		return 0, false
	}
	return mid.at, mid.gap <= rowOff*s.scatter(mid.at, level, without[0])
}

func (s *Sight) middleOf(level int, without []int) *halves {
	v := s.middlesAt(level, without)
	if len(v) < 2 {
		return &halves{n: len(v)}
	}
	slices.Sort(v)
	low, high := v[(len(v)-1)/2], v[len(v)/2]
	return &halves{(low + high) / 2, high - low, len(v)}
}

// middlesAt are the readings of a level, each as often as it was read: without those that are left
// out, those that a question explains already, and those without a middle.
func (s *Sight) middlesAt(level int, without []int) (y []float64) {
	for _, k := range s.levels[level].rows {
		if slices.Contains(without, k) || math.IsNaN(s.rows[k].y) || s.taken[k] {
			continue
		}
		for range min(s.rows[k].o.Count, mostPairs) {
			y = append(y, s.rows[k].y)
		}
	}
	return y
}

// away is how far what was seen lies from a value: 0 inside.
func away(seen interval.Interval, v float64) float64 {
	return math.Max(0, math.Max(seen.Low-v, v-seen.High))
}

// lineWithout is the line through the centres of the levels but one; false
// with fewer than `least` of them, or where it does not rise.
func (s *Sight) lineWithout(level, least int) (robustLine, bool) {
	levels := s.centres(level)
	if len(levels) < least {
		return robustLine{}, false
	}
	return theil(levels)
}

// centres are the levels that lines are drawn through, but one (−1: all).
func (s *Sight) centres(without int) []seenLevel {
	var out []seenLevel
	for _, i := range s.chosen {
		if i != without {
			out = append(out, s.levels[i])
		}
	}
	return out
}
