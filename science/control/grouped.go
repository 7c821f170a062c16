package control

import "math"

// Step is one thing that a check can show: its chance, and the score that it adds to a
// running sum.
type Step struct{ Chance, Score float64 }

// Scores is a one-sided running sum of scores C := max(0, C + score) that signals above H
// (at H exactly it does not) and starts at Start: the likelihood-ratio sum of readings that
// are categories (S. H. Steiner, P. L. Geyer and G. O. Wesolowsky 1996, Qual. Reliab. Eng.
// Int. 12, 345). Scores are logarithms of chances where the method has moved over those
// where it has not, and are not rounded: with five categories, rounding to 1/20 takes the
// run length from 50 to 29.
type Scores struct{ H, Start float64 }

// cells of a sum's range. A score that ends between two cells goes to both, so that its
// mean is kept; the error of a run length is then of second order in the width.
const cells = 400

// settled is how many times in a row the share that signals must stay the same to a part in
// ten million before what follows counts as geometric.
const settled = 12

// RunLength is the mean number of checks until the sum signals: the sum over n of the chance to have none by the
// n-th; once the shares settle the rest is a geometric series (D. Brook and D. A. Evans
// 1972, Biometrika 59, 539, for the chain). Infinite where no sum can pass H.
func (s Scores) RunLength(steps []Step) float64 {
	mean := 0.0
	alive, signals := s.walk(steps, func(alive float64) bool {
		mean += alive
		return true
	})
	return mean + alive*(1-signals)/signals
}

// walk hands over the chance to have no signal after 0, 1, 2 … checks, until its decline is
// geometric or nobody asks for more; then the last chance and the share of it that signals at
// each further check. That share is added up by itself: as what is missing to 1 it would be
// lost in rounding where signals are rare.
func (s Scores) walk(steps []Step, each func(alive float64) bool) (last, signals float64) {
	width := s.H / cells
	now, next := make([]float64, cells+1), make([]float64, cells+1)
	put := func(p []float64, at, chance float64) { // a place in cells, at most cells
		i := int(at)
		t := at - float64(i)
		p[i] += chance * (1 - t)
		if t > 0 {
			p[i+1] += chance * t
		}
	}
	put(now, min(s.Start/width, cells), 1)
	alive, was, same, n := 1.0, -1.0, 0, 0
	each(alive)
	for range 200000 {
		clear(next)
		lost := 0.0
		for _, st := range steps {
			d := st.Score / width
			for i, p := range now {
				if p == 0 {
					continue
				}
				if to := float64(i) + d; to <= cells+1e-9 {
					put(next, min(max(to, 0), cells), p*st.Chance)
				} else {
					lost += p * st.Chance
				}
			}
		}
		now, next = next, now
		alive = 0
		for _, p := range now {
			alive += p
		}
		signals = lost / (lost + alive)
		if n++; math.Abs(signals-was) <= 1e-7*signals && (signals > 0 || n > cells) { // by then a sum that can has come to H
			same++
		} else {
			same = 0
		}
		was = signals
		if !each(alive) || alive < 1e-14 || same >= settled {
			break
		}
	}
	return alive, signals
}
