// Package result says what readings of one sample tell: the concentration with its 95 %
// set, the chances that it lies below, inside or above what a need asks for, what to do,
// and how many more readings would settle it. A trial's record and a curve answer alike.
package result

import (
	"math"

	"knownwater/science/interval"
	"knownwater/science/inverse"
)

// Response is what the mean of some readings of a sample says of its concentration.
type Response interface {
	inverse.Response
	// Chance is how likely such a mean is to lie in what was seen, where the sample
	// holds c; a density where one value was seen.
	Chance(c float64, seen interval.Interval) float64
	// Uncertainty is the standard uncertainty of a concentration c that was read, width
	// of what was seen apart; infinite where the response is flat.
	Uncertainty(c float64) float64
}

// Readings are readings of one sample by one reader; without a name, by anybody.
type Readings struct {
	Reader string
	Count  int
}

// Source is a record or a curve, with what is known of a sample but for its readings.
type Source interface {
	// Of is the response of the mean of readings, each of which counts alike. Quick: with
	// fewer draws, to plan by.
	Of(by []Readings, quick bool) Response
	// Next is where the mean of further readings of the sample will lie if it holds c, and its
	// standard deviation, after the mean y of those that were had.
	Next(c, y float64, had []Readings, more Readings) (mean, sd float64)
	// Step is how wide an answer at y is.
	Step(y float64) float64
	// Readers are those whom it can tell apart.
	Readers() []string
}

// Result is what readings of one sample say. NaN is what cannot be said.
type Result struct {
	inverse.Answer
	U float64 // standard uncertainty of the estimate
}

// Of turns the mean of readings of one sample round: it lies between the mean of the
// lower and the mean of the upper ends of what was seen. What the readings share, their
// readers and lot, does not average out; the source keeps it apart.
//
// u² is that of the response with the width w of what was seen, every value in it as
// likely: w²/12 through the slope. It is missing where the set is open by what was seen, or
// as wide as all that was tried.
func Of(src Source, by []Readings, seen []interval.Interval) Result {
	r := src.Of(by, false)
	mean := interval.Mean(seen)
	res := Result{Answer: inverse.Turn(r, mean), U: math.NaN()}
	bottom, top := r.Range()
	if !math.IsNaN(res.Estimate) && !mean.OpenBelow() && !mean.OpenAbove() {
		wide := (r.Level(mean.High) - r.Level(mean.Low)) / math.Sqrt(12)
		if u := math.Hypot(r.Uncertainty(res.Estimate), wide); u <= top-bottom {
			res.U = u
		}
	}
	return res
}
