package control

import "math"

// Reads is by how much the checks of a row read otherwise, in standard deviations of one check: how likely shifts are that lie
// evenly from the first on.
type Reads struct {
	first  float64
	likely []float64
}

// Interval is the middle of it, and 95 %.
func (w Reads) Interval() (mid, low, high float64) { return w.at(0.5), w.at(0.025), w.at(0.975) }

func (w Reads) at(share float64) float64 {
	sum := 0.0
	for i, p := range w.likely {
		if sum += p; sum >= share {
			return w.first + float64(i)*readsStep
		}
	}
	return math.NaN()
}

// beyond is the chance that it is as much as a shift upwards, or downwards, whichever is the likelier.
func (w Reads) beyond(shift float64) float64 {
	var up, down float64
	for i, p := range w.likely {
		switch s := w.first + float64(i)*readsStep; {
		case s >= shift:
			up += p
		case s <= -shift:
			down += p
		}
	}
	return math.Max(up, down)
}

const readsStep = 0.05

// Now is that from the first check on, every shift within 8 of about where checks lie equally likely beforehand, over the draws.
func Now(r Row) Reads {
	const (
		coarse = 8 // steps, to find where there is anything at all
		many   = 120
	)
	about := 0.0
	wide := make([]float64, len(r.Checks))
	for i, c := range r.Checks {
		u := c.unit()
		wide[i] = u.SD
		about += value(u.in(c.Seen)) / float64(len(r.Checks))
	}
	about = math.Round(about)
	draws, lighter := drawsFor(r, many)
	likely := func(k int) float64 {
		all := math.Inf(-1)
		for i, d := range draws {
			sum := lighter[i]
			for i, c := range r.Checks {
				sum += Normal{c.Draws[d].Mean + (about+float64(k)*readsStep)*wide[i], c.Draws[d].SD}.logChance(c.Seen)
			}
			all = logSum(all, sum)
		}
		return all
	}
	top := math.Inf(-1)
	var found []float64
	for k := -160; k <= 160; k += coarse {
		found = append(found, likely(k))
		top = math.Max(top, found[len(found)-1])
	}
	first, last := 160, -160
	for i, v := range found {
		if v > top-30 {
			first, last = min(first, coarse*(i-1)-160), coarse*(i+1)-160
		}
	}
	weights := make([]float64, 0, last-first+1)
	for k := first; k <= last; k++ {
		weights = append(weights, likely(k))
		top = math.Max(top, weights[len(weights)-1])
	}
	total := 0.0
	for i := range weights {
		weights[i] = math.Exp(weights[i] - top)
		total += weights[i]
	}
	for i := range weights {
		weights[i] /= total
	}
	return Reads{about + float64(first)*readsStep, weights}
}
