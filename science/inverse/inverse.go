// Package inverse is the one place where a reading is turned round: a record
// of performance and an observed interval become a true concentration, as an
// estimate and the set of all concentrations that could well have given it.
package inverse

import (
	"math"

	"knownwater/science/interval"
	"knownwater/science/record"
)

// Open says where a set has no end of its own.
type Open string

// Open below: it goes down to nothing. Open above: it goes on beyond the
// highest known tested, and how far cannot be said.
const (
	Closed Open = ""
	Below  Open = "below"
	Above  Open = "above"
)

// Set is what a reading says about the true concentration.
type Set struct {
	Estimate float64 // NaN where no value is better than its neighbours
	Low      float64
	High     float64 // NaN where open above
	Open     Open
	Parts    []interval.Interval // the pieces, where the response folds the set in two or more
}

// Turn gives the 95 % set of one reading seen as an interval:
//
//	{ c : P(reading ≤ seen.High | c) ≥ 2.5 %  and  P(reading ≥ seen.Low | c) ≥ 2.5 % }
//
// over the record's doubt, by inverting the two one-sided tests at each
// concentration (J. Neyman 1937, Phil. Trans. A 236, 333). Whatever the true
// concentration, it lies in the set of at least 95 in 100 readings; a wider
// reading never gives a narrower set. No concentration is preferred beforehand.
//
// The estimate is where the mean response meets the middle of what was seen
// (from nothing, where open below); it is missing where the set is open above.
func Turn(r *record.Record, seen interval.Interval) Set {
	low, high := r.Limit(0.025), r.Limit(0.975)
	parts := pieces(r.Grid, low, high, seen)
	s := Set{Estimate: math.NaN()}
	if len(parts) == 0 {
		return outside(r, seen)
	}
	s.Low, s.High = parts[0].Low, parts[len(parts)-1].High
	if len(parts) > 1 {
		s.Parts = parts
	}
	s.Estimate = estimate(r, seen)
	s.Estimate = math.Max(s.Low, math.Min(s.High, s.Estimate))
	if s.Low <= r.Bottom {
		s.Open, s.Low = Below, 0
	}
	if s.High >= r.Top {
		s.Open, s.High, s.Estimate = Above, math.NaN(), math.NaN()
	}
	return s
}

// outside is the answer to a reading that no tested concentration gives.
func outside(r *record.Record, seen interval.Interval) Set {
	if seen.Low > r.Mean[0] {
		return Set{Estimate: math.NaN(), Low: r.Top, High: math.NaN(), Open: Above}
	}
	return Set{Estimate: 0, Low: 0, High: r.Bottom, Open: Below}
}

func estimate(r *record.Record, seen interval.Interval) float64 {
	first := r.Mean[0]
	switch {
	case seen.OpenAbove():
		return math.NaN()
	case seen.OpenBelow() && seen.High <= first:
		return r.Bottom
	case seen.OpenBelow():
		return r.Invert((math.Min(first, seen.High) + seen.High) / 2)
	}
	return r.Invert(seen.Mid())
}

// pieces finds where low(c) ≤ seen.High and high(c) ≥ seen.Low, with the ends
// on the straight line between grid points.
func pieces(grid, low, high []float64, seen interval.Interval) []interval.Interval {
	// margin is above 0 where c is in the set.
	margin := func(i int) float64 { return math.Min(seen.High-low[i], high[i]-seen.Low) }
	var parts []interval.Interval
	in := false
	for i := range grid {
		m := margin(i)
		if m >= 0 && !in {
			at := grid[i]
			if i > 0 {
				at = crossing(grid, low, high, seen, i)
			}
			parts = append(parts, interval.Interval{Low: at, High: grid[i]})
			in = true
		}
		if m < 0 && in {
			parts[len(parts)-1].High = crossing(grid, low, high, seen, i)
			in = false
		} else if in {
			parts[len(parts)-1].High = grid[i]
		}
	}
	return parts
}

// crossing is where the margin is 0 between grid points i−1 and i: the
// innermost of the two conditions' crossings.
func crossing(grid, low, high []float64, seen interval.Interval, i int) float64 {
	entering := math.Min(seen.High-low[i], high[i]-seen.Low) >= 0
	t := 0.5
	if entering {
		t = 0
	} else {
		t = 1
	}
	for _, m := range [2][2]float64{{seen.High - low[i-1], seen.High - low[i]}, {high[i-1] - seen.Low, high[i] - seen.Low}} {
		if (m[0] < 0) == (m[1] < 0) || math.IsInf(m[0], 0) {
			continue
		}
		at := m[0] / (m[0] - m[1])
		if entering {
			t = math.Max(t, at)
		} else {
			t = math.Min(t, at)
		}
	}
	return grid[i-1] + t*(grid[i]-grid[i-1])
}
