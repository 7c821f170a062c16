package doubt

import "math"

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
