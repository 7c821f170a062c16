package series

import (
	"math"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Ends are normal beliefs of the level on the last day, equally likely, each with how much
// the level wanders in a day.
type Ends []struct{ Mean, Var, PerDay float64 }

// Ends are where the level is on the last day and how it wanders on, as a walk: over walks by their weight, and over what
// readings share and by how much own scatter differs by draw, as in Goings.Held. A level that comes back to its mean does not go so far; but few
// readings take a walk for one, and a day to test by that hung on it would be too late more often than is said.
func (w Wanders) Ends(days []float64, seen []Seen, spread []float64, shared func(d int, into []float64)) (out Ends) {
	n := min(mostPaths, max(fewestPaths, mostSteps/len(days)))
	order := num.Source(61, uint64(len(days))).Perm(n)
	column, moved, ahead := make([]float64, len(days)), make([]Site, len(days)), make([]Belief, len(days))
	var sites []Site
	before, drawn := math.NaN(), -1
	for k := range n {
		q := w.PerDay[placeAt(w.Weight, (float64(k)+0.5)/float64(n))]
		if q != before {
			sites, _ = Walk{days, q}.Fit(seen, sites)
			before = q
		}
		if d := order[k] * len(spread) / n; d != drawn {
			shared(d, column)
			drawn = d
		}
		shift(moved, sites, column, spread[drawn])
		Walk{days, q}.forward(moved, ahead)
		last := ahead[len(ahead)-1].with(moved[len(moved)-1])
		out = append(out, struct{ Mean, Var, PerDay float64 }{last.Mean(), last.Var(), q})
	}
	return out
}

// shift puts into moved what sites amount to less errors that they share, when they scatter by a factor more.
func shift(moved, sites []Site, errors []float64, factor float64) {
	k := 1 / (factor * factor)
	for i, s := range sites {
		moved[i] = Site{s.Precision * k, (s.Shift - s.Precision*errors[i]) * k}
	}
}

// Chances are those of a level some days after the last reading: below a range, inside it and above.
func (e Ends) Chances(r interval.Interval, ahead float64) (below, inside, above float64) {
	var m Mixture
	for _, b := range e {
		m.Add(1, b.Mean, math.Sqrt(b.Var+b.PerDay*ahead))
	}
	if r.Low > 0 {
		below = m.Below(r.Low)
	}
	above = 1 - m.Below(r.High)
	return below, math.Max(0, 1-below-above), above
}
