package history

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"knownwater/science/num"
	"knownwater/science/series"
)

// couple is a change whose numbers can be told.
type couple struct {
	at   int
	a, b *span
}

// trials of a log in which nothing changes, to find how far differences go together.
const rounds = 8 // for each draw

// judge works out the numbers of the changes that can be told, and calls them together.
func (l *links) judge(out []Change, told []couple, all []*span, matters float64) {
	if len(told) == 0 {
		return
	}
	index := map[*span]int{}
	var spans []*span
	for _, c := range told {
		for _, s := range []*span{c.a, c.b} {
			if _, there := index[s]; !there {
				index[s] = 0
				spans = append(spans, s)
			}
		}
	}
	slices.SortStableFunc(spans, func(a, b *span) int { return cmp.Compare(a.day, b.day) })
	for i, s := range spans {
		index[s] = i
	}
	away := wander(all)
	for _, c := range told {
		out[c.at].numbers(c, away, matters)
	}
	limits := callAll(out, told, nothing(out, told, spans, index, away), matters)
	r := rises{links: l, spans: readable(all), stays: away, rng: num.Source(54)}
	slices.SortStableFunc(r.spans, func(a, b *span) int { return cmp.Compare(a.day, b.day) })
	for _, whole := range []bool{true, false} {
		for i, c := range told {
			if out[c.at].Whole == whole {
				out[c.at].Smallest = r.smallest(c, limits[i])
			}
		}
	}
}

// apart is the variance of a difference by how the water departs from its level.
func (c couple) apart(wander float64) float64 {
	va, vb := wander*c.a.kept, wander*c.b.kept
	return math.Max(0, va+vb-2*math.Sqrt(va*vb)*remembered(c.b.day-c.a.day))
}

func (c *Change) numbers(of couple, wander departs, matters float64) {
	a, b := of.a.steady, of.b.steady
	c.Before, c.After, c.Difference = a.level, b.level, b.level-a.level
	var e series.Estimate
	apart := of.apart(1)
	for d := range draws {
		shared := of.b.errors[d] - of.a.errors[d]
		e.Add(1, c.Difference-shared, math.Sqrt(a.variance*a.spread[d]*a.spread[d]+b.variance*b.spread[d]*b.spread[d]+apart*wander.in(d)))
	}
	e.Summarise()
	c.Low, c.High, c.U = e.Low, e.High, e.U
	c.PFall = e.Below(0)
	c.PRise = 1 - c.PFall
	if matters > 0 {
		c.PFallMatters, c.PRiseMatters = e.Below(-matters), 1-e.Below(matters)
	}
}

// callAll says which of the differences of a water are called a rise or a fall: those that exceed their
// standard uncertainty by more than the largest |difference|/u of all would in 95 of 100 logs in which nothing
// changes (single-step simultaneous comparison; P. H. Westfall & S. S. Young, Resampling-Based Multiple
// Testing, 1993), of which nulls are many. Differences from a first span to a last and those of neighbours share the 5 %
// evenly: the first is what is asked of a log, and one in ten of it would be little. Where some are called,
// the others are held against what is left of them (step-down; the same book, section 2.6):
// what has changed is no part of what may be called wrongly.
//
// It gives back how many standard uncertainties each had to exceed at first.
func callAll(out []Change, told []couple, nulls [][]float64, matters float64) (firsts []float64) {
	scale := make([]float64, len(told))
	var wholes, steps, left []int
	for i, c := range told {
		scale[i] = 1
		left = append(left, i)
		if out[c.at].Whole {
			wholes = append(wholes, i)
		} else {
			steps = append(steps, i)
		}
	}
	if wholes != nil && steps != nil {
		k := limitOf(nulls, wholes, scale, 0.975) / limitOf(nulls, steps, scale, 0.975)
		for _, i := range wholes {
			scale[i] = k
		}
	}
	for first := true; len(left) > 0; first = false {
		limit := limitOf(nulls, left, scale, 0.95)
		var open []int
		for _, i := range left {
			c := &out[told[i].at]
			if first {
				firsts = append(firsts, limit*scale[i])
			}
			if c.call(limit*scale[i], matters); c.Verdict != Rose && c.Verdict != Fell {
				open = append(open, i)
			}
		}
		if len(open) == len(left) {
			break
		}
		left = open
	}
	return firsts
}

// limitOf is the value that the largest |difference|/u/scale of these stays below in a share of logs in
// which nothing changes.
func limitOf(nulls [][]float64, of []int, scale []float64, share float64) float64 {
	largest := make([]float64, len(nulls))
	for r, row := range nulls {
		for _, i := range of {
			largest[r] = math.Max(largest[r], row[i]/scale[i])
		}
	}
	slices.Sort(largest)
	return num.Quantile(largest, share)
}

// nothing is |difference|/u of each difference, in logs in which nothing changes.
func nothing(out []Change, told []couple, spans []*span, index map[*span]int, wander departs) (rows [][]float64) {
	rng := num.Source(53, uint64(len(told)))
	for d := range draws {
		for range rounds {
			errs := astray(spans, d, wander, rng)
			row := make([]float64, len(told))
			for i, c := range told {
				row[i] = math.Abs(errs[index[c.b]]-errs[index[c.a]]) / out[c.at].U
			}
			rows = append(rows, row)
		}
	}
	return rows
}

// astray is by how much levels of spans, in order of time, are off in a log of a draw: by what readings share, their own
// scatter, and how the water departs.
func astray(spans []*span, draw int, wander departs, rng *rand.Rand) []float64 {
	errs := make([]float64, len(spans))
	away := 0.0
	for i, s := range spans {
		if i > 0 {
			phi := remembered(s.day - spans[i-1].day)
			away = phi*away + math.Sqrt(1-phi*phi)*rng.NormFloat64()
		} else {
			away = rng.NormFloat64()
		}
		errs[i] = s.errors[draw] + math.Sqrt(s.steady.variance)*s.steady.spread[draw]*rng.NormFloat64()
		errs[i] += math.Sqrt(wander.in(draw)*s.kept) * away
	}
	return errs
}

// call says what a change comes to. limit is by how many standard uncertainties a difference
// must exceed 0 to be called.
func (c *Change) call(limit, matters float64) {
	switch {
	case c.Difference > limit*c.U:
		c.Verdict = Rose
	case c.Difference < -limit*c.U:
		c.Verdict = Fell
	case matters > 0 && c.Low > -matters && c.High < matters:
		c.Verdict = SameForNeed
	}
}
