package history

import (
	"math"
	"math/rand/v2"
	"slices"

	"knownwater/science/num"
)

// rises says how large a change of a water must be to be called. Higher readings scatter more and share more of
// what their methods may be off by, and a change looks in part like a wandering, so that a difference is known less
// well in a log in which the water changed than in one in which it did not, often half as well. So logs like this one are
// made in which it did: every reading is higher by as much as the water is by its day, and levels err and wander as this log's do.
type rises struct {
	*links
	spans []*span // whose levels say how far the water wanders, in order of time
	stays departs // … as found
	rng   *rand.Rand
	found [][]float64 // variances of wandering that logs with a change show, by its way
}

// wayUp is a change that goes straight on between two places in the time from one span's middle to the other's, and takes some
// days at least; at once where there are none. A change is called in 95 of 100 logs whichever of waysUp it takes.
type wayUp struct{ begins, ends, days float64 }

// Four weeks are as long as a span: they look most like a wandering.
var waysUp = []wayUp{{1. / 3, 1. / 3, 0}, {2. / 3, 2. / 3, 0}, {0.5, 0.5, 28}, {1. / 3, 2. / 3, 0}, {0, 1, 0}}

const (
	madeLogs = 5                  // of each way
	z95one   = 1.6448536269514722 // Φ⁻¹(0.95)
)

// smallest is the change from one span to a later one that is called in 95 of 100 logs: the mean of Φ((δ − k·u)/s) over
// logs is 0.95 where the change takes the way of which least are called, u being the difference's standard
// uncertainty as a log shows it, s how far it scatters, k how many u are called.
// How far logs with a change seem to wander is found for what has other spans between, and taken over for neighbours.
func (r *rises) smallest(of couple, k float64) float64 {
	over := slices.ContainsFunc(r.spans, func(s *span) bool { return s.day > of.a.day && s.day < of.b.day })
	ways := waysUp
	if !over {
		ways = []wayUp{{0.5, 0.5, 0}}
	}
	anew := over || r.found == nil
	δ := (k + z95one) * of.u(num.Mean(r.stays))
	for range 4 {
		if anew {
			r.found = nil
			for _, way := range ways {
				r.found = append(r.found, r.wanderings(way.raise(δ, of)))
			}
		}
		seen := make([][]uncertain, len(ways)) // by way
		for i, way := range ways {
			raise := way.raise(δ, of)
			then := couple{a: r.risen(of.a, raise), b: r.risen(of.b, raise)}
			s := then.u(num.Mean(r.stays))
			found := slices.Concat(r.found...)
			if over {
				found = r.found[i]
			}
			for _, w := range found {
				seen[i] = append(seen[i], uncertain{then.u(w), s})
			}
		}
		was := δ
		if δ = called(seen, k, δ); !(math.Abs(δ-was) > 0.03*was) {
			break
		}
	}
	return δ
}

// raise is how much of a change from one span to the other there is on a day.
func (w wayUp) raise(δ float64, of couple) func(day float64) float64 {
	return func(day float64) float64 { return δ * w.by(day, of.a.day, of.b.day) }
}

// by is the share of it.
func (w wayUp) by(day, from, to float64) float64 {
	begins, ends := from+w.begins*(to-from), from+w.ends*(to-from)
	if more := (w.days - (ends - begins)) / 2; more > 0 {
		begins, ends = begins-more, ends+more
	}
	if day <= begins {
		return 0
	}
	return math.Min(1, (day-begins)/math.Max(ends-begins, 1e-9))
}

// uncertain is a difference's standard uncertainty, as found, and its scatter.
type uncertain struct{ u, s float64 }

// called is the change that is called in 95 of 100, looked for up to ten times about.
func called(seen [][]uncertain, k, about float64) float64 {
	low, high := 0.0, 10*about
	for range 40 {
		mid, least := (low+high)/2, 1.0
		for _, way := range seen {
			p := 0.0
			for _, x := range way {
				p += num.Phi((mid-k*x.u)/x.s) / float64(len(way))
			}
			least = math.Min(least, p)
		}
		if least < 0.95 {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// risen is a span whose readings are higher by as much as raise says of their days.
func (r *rises) risen(s *span, raise func(day float64) float64) *span {
	out := *s
	out.points = slices.Clone(s.points)
	for i, p := range out.points {
		if by := r.yieldOf(p.set) * raise(p.day); by > 0 {
			out.points[i] = r.read(p, by)
		}
	}
	r.settle(&out, out.points)
	out.steady.variance *= s.more
	return &out
}

// read is what a reading is of a sample that holds more: answers are as wide as they are there, and samples
// are diluted where the sheet says so, as others of the log are.
func (r *rises) read(p point, by float64) point {
	mid, was := p.seen.Mid(), p.way.Step(p.seen.Mid())
	if records := r.Records[p.Method]; p.Dilution <= 1 && len(records) > 0 {
		from, _ := records[len(records)-1].DilutesFrom()
		i := slices.IndexFunc(r.points, func(o point) bool { return o.Method == p.Method && o.Dilution > 1 })
		if from > 0 && i >= 0 && mid+by > p.way.Level(from) {
			p.Dilution = r.points[i].Dilution
			p.way = r.wayOf(p.Entry)
		}
	}
	half := p.seen.Width() / 2
	if was > 0 {
		half *= p.way.Step(mid+by) / was
	}
	p.seen.Low, p.seen.High = mid+by-half, mid+by+half
	return p
}

// wanderings are by how much logs with a change seem to wander, as variances.
func (r *rises) wanderings(raise func(day float64) float64) (out []float64) {
	told := make([]*span, len(r.spans))
	by := make([]float64, len(r.spans))
	for i, s := range r.spans {
		told[i] = r.risen(s, raise)
		by[i] = told[i].steady.level - s.steady.level
	}
	in := newWithin(told)
	for range madeLogs {
		errs := astray(told, r.rng.IntN(draws), r.stays, r.rng)
		for i, s := range told {
			s.steady.level = r.spans[0].steady.level + by[i] + errs[i]
		}
		out = append(out, num.Mean(wandering(told, in)))
	}
	return out
}

// u is the standard deviation of a difference of levels where the water wanders by a variance of w.
func (c couple) u(w float64) float64 {
	a, b := c.a.steady, c.b.steady
	shared := make([]float64, draws)
	own := 0.0
	for d := range shared {
		shared[d] = c.b.errors[d] - c.a.errors[d]
		own += (a.variance*a.spread[d]*a.spread[d] + b.variance*b.spread[d]*b.spread[d]) / draws
	}
	_, sd := num.MeanSD(shared)
	return math.Sqrt(own + sd*sd + c.apart(w))
}
