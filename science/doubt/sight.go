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
		n := len(all)
		if n == 0 || all[n-1].method.Name != r.Method.Name || all[n-1].matrix != r.Matrix {
			i := slices.IndexFunc(all, func(a *Sight) bool { return a.method.Name == r.Method.Name && a.matrix == r.Matrix })
			if i >= 0 {
				all[i].add(r.Obs)
				continue
			}
			all = append(all, &Sight{method: r.Method, matrix: r.Matrix, scale: scale, taken: map[int]bool{}})
			n++
		}
		all[n-1].add(r.Obs)
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
		s.levels[i].centre, _ = s.median(s.levels[i].rows, -1)
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

// median of the middles of rows, one of them left out, counts as weights; and
// how many readings it rests on.
func (s *Sight) median(rows []int, without int) (m float64, n int) {
	var v, w []float64
	for _, i := range rows {
		if i != without && !math.IsNaN(s.rows[i].y) && !s.taken[i] {
			v, w = append(v, s.rows[i].y), append(w, float64(s.rows[i].o.Count))
			n += s.rows[i].o.Count
		}
	}
	return weightedMedian(v, w), n
}

// weightedMedian halves the weight; the mean of two where it falls between
// them; not a number of none.
func weightedMedian(v, w []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	order := make([]int, len(v))
	total := 0.0
	for i := range order {
		order[i] = i
		total += w[i]
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(v[a], v[b]) })
	sum := 0.0
	for k, i := range order {
		sum += w[i]
		if sum > total/2*(1+1e-12) || k == len(order)-1 {
			return v[i]
		}
		if sum >= total/2*(1-1e-12) {
			return (v[i] + v[order[k+1]]) / 2
		}
	}
	return math.NaN()
}

// perPair turns the median difference of pairs into a standard deviation:
// 1/(√2·Φ⁻¹(0.75)).
const perPair = 1.0483

// leastShare is the relative scatter that is taken as the least of any method.
const leastShare = 0.05

// findScatter takes the scatter of single readings from differences within
// levels: a floor from the lower half of the levels, a proportional part from
// the upper half. Medians of pairs bear a quarter of the readings being wrong.
func (s *Sight) findScatter() {
	for i := range s.levels {
		s.levels[i].pairs, s.levels[i].halves = nil, nil
	}
	half := len(s.levels) / 2
	var low, high []float64
	for i, l := range s.levels {
		d := s.pairs(i, -1)
		if i < half || len(s.levels) == 1 {
			low = append(low, d...)
			continue
		}
		for _, v := range d {
			if l.centre > 0 {
				high = append(high, v/l.centre)
			}
		}
	}
	s.floor, s.share = perPair*orZero(median(low)), math.Max(leastShare, perPair*orZero(median(high)))
}

func orZero(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}

// median of values, which it leaves as they are; not a number of none.
func median(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return math.NaN()
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// mostPairs bounds the readings of a level that are compared in pairs.
const mostPairs = 40

// pairsOf is the median difference at a level, and of how many pairs; it is
// remembered where no row is left out.
func (s *Sight) pairsOf(level, without int) (m float64, n int) {
	if s.rows[without].level == level && len(s.levels[level].rows) < manyRows {
		d := s.pairs(level, without)
		return median(d), len(d)
	}
	l := &s.levels[level]
	if l.pairs == nil {
		d := s.pairs(level, -1)
		l.pairs = &pairing{median(d), len(d)}
	}
	return l.pairs.median, l.pairs.n
}

// pairs are the differences between readings at one level, one row left out.
func (s *Sight) pairs(level, without int) (d []float64) {
	y := s.middlesAt(level, []int{without})
	if n := len(y); n > mostPairs {
		thin := make([]float64, mostPairs)
		for k := range thin {
			thin[k] = y[k*(n-1)/(mostPairs-1)]
		}
		y = thin
	}
	d = make([]float64, 0, len(y)*(len(y)-1)/2)
	for a := range y {
		for b := range a {
			d = append(d, math.Abs(y[a]-y[b]))
		}
	}
	return d
}

// around is how many levels to each side the scatter at a level is taken from.
const around = 2

// scatter is how far a single reading may well lie from an expected one: the
// method's as a whole, times what the level and its neighbours scatter more than
// that (the median of their own ratios, so that two of five may be spoilt); half
// the widest step seen there at least. One row is left out.
func (s *Sight) scatter(expected float64, level, without int) float64 {
	sd, _ := s.scatterOf(expected, level, without)
	return sd
}

// scatterOf also tells on how many pairs of readings the level's part rests.
func (s *Sight) scatterOf(expected float64, level, without int) (sd float64, pairs int) {
	more, own := []float64{1}, 1.0
	for i := max(0, level-around); i <= min(len(s.levels)-1, level+around); i++ {
		m, n := s.pairsOf(i, without)
		whole := s.whole(s.levels[i].centre)
		if n == 0 || !(whole > 0) {
			continue
		}
		more, pairs = append(more, perPair*m/whole), pairs+n
		if i == level && n >= ownPairs {
			own = perPair * m / whole
		}
	}
	step := 0.0
	for _, i := range s.levels[level].rows {
		if w := s.rows[i].seen.Width(); !math.IsInf(w, 0) {
			step = math.Max(step, w/2)
		}
	}
	return math.Max(s.whole(expected)*math.Max(own, median(more)), step), pairs
}

// ownPairs is how many pairs a level needs to speak of its scatter by itself.
const ownPairs = 6

// whole is the scatter of the method as a whole at a reading.
func (s *Sight) whole(y float64) float64 { return math.Hypot(s.floor, s.share*math.Abs(y)) }

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

// robustLine is the line through weighted medians of slopes and of what is
// left (Theil 1950; Sen, J. Am. Stat. Assoc. 63 (1968) 1379): a quarter of the
// levels may be wrong. Weights make up for scatter that grows with the level.
type robustLine struct{ a, b float64 }

func (l robustLine) at(c float64) float64 { return l.a + l.b*c }

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

// theil is the robust line through levels; false where it does not rise.
func theil(levels []seenLevel) (robustLine, bool) {
	if len(levels) < 2 {
		return robustLine{}, false
	}
	pad := levels[len(levels)-1].c / 10
	var slope, weight []float64
	for j, b := range levels {
		for _, a := range levels[:j] {
			slope = append(slope, (b.centre-a.centre)/(b.c-a.c))
			weight = append(weight, (b.c-a.c)/math.Hypot(a.c+pad, b.c+pad))
		}
	}
	l := robustLine{b: weightedMedian(slope, weight)}
	var left, w []float64
	for _, v := range levels {
		left, w = append(left, v.centre-l.b*v.c), append(w, 1/(v.c+pad))
	}
	l.a = weightedMedian(left, w)
	return l, l.b > 0
}
