package series

import "slices"

// kept is how long a departure may be kept, in days, where the question is where a level was.
var kept = []float64{Memory / 5, 2 * Memory / 5, Memory}

// PastOf weighs how a level went where it is asked where it was: as a walk, or about a mean with any of the memories kept, by the
// likelihood of each times width/(1 + size/4), width the distance of a size's neighbours. So every size up to four scatters
// counts alike. By GoingsOf, or by walks alone, the middle 95 % left a level that departs by half to one scatter and comes
// back within two weeks out on 11 to 23 of 100 days of forty weekly tests; by this on 7 to 9, and on 1 of a level that stays. Of spread as GoingsOf.
func PastOf(days []float64, seen []Seen, spread []float64) Goings {
	return weighed(days, seen, spread, func(scale float64, add func(way Going, weight float64)) {
		for k, size := range slices.Backward(steps) {
			add(Going{PerDay: size * scale * size * scale / week}, widthAt(steps, k)/(1+size/4))
		}
		for _, memory := range kept {
			for k, size := range departures[1:] {
				add(Going{Departs: size * scale, Memory: memory}, widthAt(departures, k+1)/(1+size/4))
			}
		}
	})
}

// process is the way over some days, under way.
func (g Going) process(days []float64) process {
	if g.Departs > 0 {
		return &returning{Return: Return{days, g.Departs, g.Memory}, back: make([]joint, len(days))}
	}
	return &walking{Walk: Walk{days, g.PerDay}, back: make([]Belief, len(days))}
}

// smoothed is the level on every day given all readings: what those before and after say, times the reading's own.
func smoothed(p process, sites []Site) []Belief {
	p.later(sites)
	out := make([]Belief, len(sites))
	for i, s := range sites {
		out[i] = p.others(i, sites).with(s)
	}
	return out
}

// Levels are the level on each reading's day with its standard uncertainty: over the ways it may go,
// and over what readings share. shared fills in the errors of all readings in one draw of
// draws; it goes through the smoother of the likeliest way, so that what readings have in
// common stays in each level.
func (g Goings) Levels(days []float64, seen []Seen, draws int, shared func(d int, into []float64)) []Estimate {
	n := len(seen)
	out := make(pooled, n)
	best := heaviest(g.Weight)
	var sites, likeliest []Site
	for k, way := range g.Of {
		if g.Weight[k] < lightest {
			continue
		}
		sites, _ = way.fit(days, scattered(seen, g.scatter(k)), sites)
		if k == best {
			likeliest = slices.Clone(sites)
		}
		for i, b := range smoothed(way.process(days), sites) {
			out.add(i, g.Weight[k], b.Mean(), b.Var())
		}
	}
	column, moved, process := make([]float64, n), make([]Site, n), g.Of[best].process(days)
	for d := range draws {
		shared(d, column)
		for i, s := range likeliest {
			moved[i] = Site{s.Precision, s.Precision * column[i]}
		}
		for i, b := range smoothed(process, moved) {
			out.share(i, b.Mean())
		}
	}
	return out.estimates()
}
