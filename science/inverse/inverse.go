// Package inverse is the one place where a reading is turned round: a response
// and what was seen, an interval, become a true concentration, as an estimate and the
// set of all concentrations that could well have given it.
package inverse

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Response is what the turn asks of a record of performance or a curve. Its answers
// rise with the concentration; who has falling ones turns their sign.
type Response interface {
	// Range is what was tried: the lowest and the highest concentration.
	Range() (bottom, top float64)
	// Knots are rising concentrations from bottom to top, so close that at most one
	// end of a set lies between two neighbours. The turn adds the levels of what was
	// seen to them, so that a set narrower than their distance is not missed.
	Knots() []float64
	// Margin is 0 or more where a concentration could well have given what was seen,
	// by two one-sided tests of 2.5 %; what it measures does not matter.
	Margin(c float64, seen interval.Interval) float64
	// Level is the concentration whose mean answer is y, also a little beyond the
	// range; NaN where there is none.
	Level(y float64) float64
}

// Open says where a set has no end of its own.
type Open string

// Open below: it goes down to nothing. Open above: it goes on beyond the
// highest known tested, and how far cannot be said.
const (
	Closed Open = ""
	Below  Open = "below"
	Above  Open = "above"
)

// Answer is what a reading says about the true concentration.
type Answer struct {
	Estimate float64 // NaN where none can be said
	Low      float64
	High     float64 // NaN where open above
	Open     Open
	Parts    []interval.Interval // the pieces, where the response folds the set in two or more
}

// Turn gives the 95 % set of one reading seen as an interval:
//
//	{ c : P(reading ≤ seen.High | c) ≥ 2.5 %  and  P(reading ≥ seen.Low | c) ≥ 2.5 % }
//
// over all that is not known of the response, by inverting the two one-sided tests at
// each concentration (J. Neyman 1937, Phil. Trans. A 236, 333). Whatever the true
// concentration, it lies in the set of at least 95 in 100 readings; a wider
// reading never gives a narrower set. No concentration is preferred beforehand.
//
// The ends: there is nothing below zero, so a set that reaches the lowest that was
// tried goes down to nothing (Below); beyond the highest nobody has looked, so one that
// reaches that goes on (Above), and so do sets of readings that the lowest hardly ever gives, as it
// gives more, or the highest, as it gives less. A reading that nothing tried would give lies
// beyond the end that is nearer.
//
// The estimate is where the mean response meets the middle of what was seen; where
// that is open below, half of where it meets the upper end. It is NaN where this
// place lies beyond what was tried, or nowhere.
func Turn(r Response, seen interval.Interval) Answer {
	bottom, top := r.Range()
	parts := Where(knots(r, seen), func(c float64) float64 { return r.Margin(c, seen) })
	if len(parts) == 0 {
		return outside(r, seen)
	}
	// What reads less than the lowest known is believed to, because readings scatter less there than further up, is no more than that known:
	// what reads more than the highest, likewise.
	if r.Margin(bottom, interval.Above(seen.Low)) >= 0 {
		parts[0].Low = bottom
	}
	if r.Margin(top, interval.Below(seen.High)) >= 0 {
		parts[len(parts)-1].High = top
	}
	a := Answer{Low: parts[0].Low, High: parts[len(parts)-1].High}
	if len(parts) > 1 {
		a.Parts = parts
	}
	a.Estimate = math.Min(a.High, math.Max(a.Low, estimate(r, seen))) // NaN stays NaN
	if a.Low <= bottom {
		a.Open, a.Low = Below, 0
		if a.Parts != nil {
			a.Parts[0].Low = 0
		}
	}
	if a.High >= top {
		a.Open, a.High = Above, math.NaN()
		if a.Parts != nil {
			a.Parts[len(a.Parts)-1].High = math.Inf(1)
		}
	}
	return a
}

// outside is the answer to a reading that no tested concentration gives.
func outside(r Response, seen interval.Interval) Answer {
	bottom, top := r.Range()
	// of the two tests, the one that the bottom fails says on which side the reading lies
	if r.Margin(bottom, interval.Below(seen.High)) >= 0 {
		return Answer{Estimate: math.NaN(), Low: top, High: math.NaN(), Open: Above}
	}
	return Answer{Estimate: math.NaN(), Low: 0, High: bottom, Open: Below}
}

// estimate is where the mean response meets what was seen.
func estimate(r Response, seen interval.Interval) float64 {
	bottom, top := r.Range()
	c := math.NaN()
	switch {
	case seen.OpenAbove():
	case seen.OpenBelow():
		c = (bottom + math.Max(bottom, r.Level(seen.High))) / 2
	default:
		c = r.Level(seen.Mid())
	}
	if c > top || c < bottom && bottom > 0 {
		return math.NaN()
	}
	return c
}

// Scaled is a response whose concentrations are k times those of another: of a sample
// that was diluted by k before it was read.
type Scaled struct {
	Response
	K float64
}

func (s Scaled) Range() (bottom, top float64) {
	bottom, top = s.Response.Range()
	return bottom * s.K, top * s.K
}

func (s Scaled) Knots() []float64 {
	out := slices.Clone(s.Response.Knots())
	for i := range out {
		out[i] *= s.K
	}
	return out
}

func (s Scaled) Margin(c float64, seen interval.Interval) float64 {
	return s.Response.Margin(c/s.K, seen)
}

func (s Scaled) Level(y float64) float64 { return s.K * s.Response.Level(y) }

// knots are the response's, with the levels of what was seen among them.
func knots(r Response, seen interval.Interval) []float64 {
	bottom, top := r.Range()
	all := slices.Clone(r.Knots())
	for _, y := range []float64{seen.Low, seen.High, seen.Mid()} {
		if math.IsNaN(y) || math.IsInf(y, 0) {
			continue
		}
		if c := r.Level(y); c > bottom && c < top {
			all = append(all, c)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// Where are the pieces in which a margin is 0 or more, between the first and the
// last of rising knots. An end that is no knot's lies where the margin is 0, to
// 1e-12 of the way between its two knots. A knot without a margin (NaN) counts as
// outside.
func Where(knots []float64, margin func(c float64) float64) (parts []interval.Interval) {
	before, was := math.NaN(), math.NaN()
	for _, c := range knots {
		m := margin(c)
		in, wasIn := m >= 0, was >= 0
		switch {
		case in && wasIn:
			parts[len(parts)-1].High = c
		case in && math.IsNaN(was):
			parts = append(parts, interval.Exact(c))
		case in:
			parts = append(parts, interval.Interval{Low: end(margin, before, c, c), High: c})
		case wasIn && !math.IsNaN(m):
			parts[len(parts)-1].High = end(margin, before, c, before)
		}
		before, was = c, m
	}
	return parts
}

// end is where the margin is 0 between a and b; inside where no root is found.
func end(margin func(c float64) float64, a, b, inside float64) float64 {
	root, err := num.Root(margin, a, b, 1e-12*(b-a))
	if err != nil {
		return inside
	}
	return root
}
