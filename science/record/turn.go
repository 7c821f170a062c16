package record

import (
	"math"
	"sort"

	"knownwater/science/interval"
	"knownwater/science/num"
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
// the method's scale; between grid points those limits are straight lines. A record of a
// sample (Of), which is asked once, takes the chances themselves.
func (r *Record) Margin(c float64, seen interval.Interval) float64 {
	if r.once {
		if g, on := r.knot(c); on && (seen.High < r.from[g] || seen.Low > r.to[g]) {
			return num.Phi(-nearly) - outer // surely outside; by how much does not matter
		}
		return math.Min(r.Chance(c, interval.Below(seen.High)), r.Chance(c, interval.Above(seen.Low))) - outer
	}
	low, high := along(r.Grid, r.Limit(outer), c), along(r.Grid, r.Limit(1-outer), c)
	return math.Min(seen.High-low, high-seen.Low)
}

// knot is the place of c on the grid of a record of a sample, if it is one of it.
func (r *Record) knot(c float64) (g int, on bool) {
	if r.spreads == nil {
		return 0, false
	}
	g = sort.SearchFloat64s(r.Grid, c)
	return g, g < len(r.Grid) && r.Grid[g] == c
}

// Level is the concentration whose best mean response is y.
func (r *Record) Level(y float64) float64 { return r.Invert(y) }

// Chance is how likely it is that a reading at c lies in what was seen, over all that
// is not known of the record; a density where that is one value. Beyond the grid the
// end pieces go on.
func (r *Record) Chance(c float64, seen interval.Interval) float64 {
	p := 0.0
	i, t := place(r.Grid, c)
	g, on := r.knot(c)
	for d, row := range r.table {
		y := row[i-1] + t*(row[i]-row[i-1])
		n := Normal{Mean: y}
		if on {
			n.SD = r.spreads[d][g]
		} else {
			n.SD = r.Spread.All(d, c)
		}
		if seen.Low == seen.High {
			p += num.NormalPDF((seen.Low-n.Mean)/n.SD) / n.SD
			continue
		}
		p += n.Below(seen.High) - n.Below(seen.Low)
	}
	return p / float64(len(r.table))
}

// Uncertainty is the standard uncertainty of a level c that was read: the spread of
// readings there and the doubt about their mean, through the slope of the best
// response. Infinite where that does not rise.
func (r *Record) Uncertainty(c float64) float64 {
	var square num.Sum
	best := along(r.Grid, r.Mean, c)
	for d := range r.table {
		n := r.Reading(d, c)
		square.Add(n.SD*n.SD + (n.Mean-best)*(n.Mean-best))
	}
	return math.Sqrt(square.Value()/float64(len(r.table))) / r.Slope(c)
}

// Slope of the best response about c.
func (r *Record) Slope(c float64) float64 {
	n := len(r.Grid)
	i := min(max(sort.SearchFloat64s(r.Grid, c), 1), n-1)
	a, b := max(i-2, 0), min(i+1, n-1)
	return math.Max(0, (r.Mean[b]-r.Mean[a])/(r.Grid[b]-r.Grid[a]))
}
