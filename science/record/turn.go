package record

import (
	"math"

	"knownwater/science/interval"
)

// outer is the chance on each side of a 95 % set.
const outer = 0.025

// A record is a response that package inverse turns round: a concentration could
// well have given what was seen where neither end of the range that holds 95 % of
// readings there lies beyond it, over all that is not known of the record.

// Range is where knowns were tested.
func (r *Record) Range() (bottom, top float64) { return r.Bottom, r.Top }

// Knots are the record's grid.
func (r *Record) Knots() []float64 { return r.Grid }

// Margin is how far what was seen reaches into the central 95 % of readings at c, on
// the method's scale; between grid points those limits are straight lines.
func (r *Record) Margin(c float64, seen interval.Interval) float64 {
	low, high := along(r.Grid, r.Limit(outer), c), along(r.Grid, r.Limit(1-outer), c)
	return math.Min(seen.High-low, high-seen.Low)
}

// Level is the concentration whose best mean response is y.
func (r *Record) Level(y float64) float64 { return r.Invert(y) }
