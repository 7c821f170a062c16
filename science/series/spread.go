package series

import "math"

// Wanders is how much a level may wander, as walks with weights that sum to 1.
type Wanders struct {
	PerDay, Weight []float64
	Evidence       float64 // logarithm of how likely the readings are, over all of it
}

// steps are tried as the standard deviation of a week's wandering, in units of what one
// reading scatters.
var steps = []float64{0, 0.03, 0.06, 0.12, 0.25, 0.5, 1, 2, 4}

const (
	mostRead = 1200 // of the readings, the last ones, that say how much a level wanders
	week     = 7.0
)

// Wandering weighs how much a level wanders by what readings say: the likelihood of each
// walk times a half-Cauchy weight of its weekly step, with the scale of one reading's
// scatter. Of a long row its last 1,200 readings count.
func Wandering(days []float64, seen []Seen) Wanders {
	days, seen, scale := lately(days, seen)
	var w Wanders
	var sites []Site
	for k := len(steps) - 1; k >= 0; k-- {
		q := steps[k] * scale * steps[k] * scale / week
		var l float64
		sites, l = Walk{days, q}.Fit(seen, sites)
		width := steps[min(k+1, len(steps)-1)] - steps[max(k-1, 0)]
		l += math.Log(width / (1 + steps[k]*steps[k]))
		w.PerDay, w.Weight = append(w.PerDay, q), append(w.Weight, l)
	}
	w.Evidence = weigh(w.Weight)
	return w
}

// lately are the last readings, with what one of them scatters.
func lately(days []float64, seen []Seen) (_ []float64, _ []Seen, scale float64) {
	if from := len(seen) - mostRead; from > 0 {
		days, seen = days[from:], seen[from:]
	}
	for _, s := range seen {
		scale += s.SD / float64(len(seen))
	}
	return days, seen, scale
}

// best is the walk with the most weight.
func (w Wanders) best() float64 { return w.PerDay[heaviest(w.Weight)] }

// heaviest is the place of the largest weight, the first of several.
func heaviest(weights []float64) int {
	k := 0
	for i, v := range weights {
		if v > weights[k] {
			k = i
		}
	}
	return k
}

// lightest is the weight below which a walk is left out.
const lightest = 0.02

// Levels are about where the level was on each reading's day, by the readings' own errors alone.
func (w Wanders) Levels(days []float64, seen []Seen) []float64 {
	out := make(pooled, len(seen))
	var sites []Site
	for k, q := range w.PerDay {
		if w.Weight[k] < lightest {
			continue
		}
		walk := Walk{days, q}
		sites, _ = walk.Fit(seen, sites)
		for i, b := range walk.Smoothed(sites) {
			out.add(i, w.Weight[k], b.Mean(), b.Var())
		}
	}
	levels := make([]float64, len(seen))
	for i, e := range out.estimates() {
		levels[i] = e.Value
	}
	return levels
}

// Sites are what readings amount to under the likeliest walk.
func (w Wanders) Sites(days []float64, seen []Seen) []Site {
	sites, _ := Walk{days, w.best()}.Fit(seen, nil)
	return sites
}
