package history

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
	"knownwater/science/series"
)

// draws of what readings share, the same for all of a log.
const draws = assess.WayDraws

// way is how readings become concentrations; *assess.Way is one.
type way interface {
	Level(y float64) float64
	Range() (bottom, top float64)
	Own(c float64) float64
	Step(c float64) float64
	Shared(c, k float64, into []float64)
	Spreads() []float64
}

// asShown is the way of a method without a record: it is taken at its word, and its
// readings scatter by a share of themselves that pairs have shown; NaN: nothing has.
type asShown struct {
	share, least float64
	t            float64 // 95 % are within so many of share: Student's, of few pairs more than 1.96
}

func (a asShown) Level(y float64) float64          { return y }
func (a asShown) Range() (bottom, top float64)     { return 0, math.Inf(1) }
func (a asShown) Own(c float64) float64            { return math.Max(a.least, a.share*math.Abs(c)) }
func (a asShown) Step(_ float64) float64           { return 0 }
func (a asShown) Shared(_, _ float64, _ []float64) {}
func (a asShown) Spreads() []float64               { return ones }

var ones = func() []float64 {
	out := make([]float64, draws)
	for i := range out {
		out[i] = 1
	}
	return out
}()

// point is a reading on the scale of concentrations, before anything is known of its lot.
type point struct {
	Entry
	day   float64 // since the log began
	set   int     // its setup
	way   way
	seen  interval.Interval
	open  bool // nothing bounds it above
	below bool // nothing of what was seen bounds it below
	// less was taken off for the sample's nitrite; uLess is the doubt of that by the nitrite, less its factor's.
	less, uLess, uFactor float64
	// unstated is what nitrite that nobody measured may add, by what was measured of the water nearest to it.
	unstated float64
	// over says that the sample was first read undiluted, as more than the method's sheet takes so.
	over bool
	// at is the result that it belongs to; −1: a check.
	at int
}

// own is the scatter of a reading about a level, bounded: a flat response would have none.
func (p point) own(c float64) float64 {
	own := p.way.Own(c + p.less)
	if p.uLess > 0 {
		own = math.Hypot(own, p.uLess)
	}
	return math.Max(own, 1e-9*(1+math.Abs(c)))
}

// pointOf puts a reading between two concentrations. Where it lies on a flat part of the
// response, or is open, the interval reaches as far as its 95 % set says.
func (l *links) pointOf(e Entry, at int, o *Result, seen interval.Interval) point {
	p := point{Entry: e, day: e.At.Sub(l.began).Hours() / 24, set: l.setOf(e), way: l.wayOf(e), at: at}
	bottom, top := p.way.Range()
	if records := l.Records[e.Method]; e.NitriteKnown && len(records) > 0 {
		p.less, p.uLess, p.uFactor, _ = records[len(records)-1].NitritePart(e.Nitrite, e.UNitrite)
	}
	p.seen = interval.Interval{Low: p.way.Level(seen.Low) - p.less, High: p.way.Level(seen.High) - p.less}
	flat := false
	if o != nil && o.Outcome != nil {
		r := o.Outcome.Result
		mid := math.Max(bottom, math.Min(top, (p.seen.Low+p.seen.High)/2))
		flat = seen.OpenBelow() || seen.OpenAbove() || p.own(mid) > (top-bottom)/4
		if flat && r.Open == inverse.Below && !math.IsNaN(r.High) {
			p.seen.High = r.High - num.Z95*p.own(r.High)
			p.seen.Low = math.Min(bottom, p.seen.High) - p.own(r.High)
		}
		if flat && r.Open == inverse.Above {
			p.seen.Low = r.Low + num.Z95*p.own(r.Low)
		}
	}
	p.below = seen.OpenBelow() || flat && o.Outcome.Result.Open == inverse.Below
	if seen.OpenBelow() {
		p.seen.Low = math.Min(bottom-p.own(bottom), p.seen.High-p.own(p.seen.High))
	}
	if p.open = seen.OpenAbove() || flat && o.Outcome.Result.Open == inverse.Above; p.open {
		if math.IsInf(top, 1) {
			top = 2 * math.Abs(p.seen.Low)
		}
		p.seen.High = math.Max(p.seen.Low, top) * 2
	}
	if !(p.seen.Low <= p.seen.High) {
		p.seen.High = p.seen.Low
	}
	return p
}

// farBelow is how many scatters further down what is open below goes as a reading that a level gives. seen ends one scatter below nothing, and of
// a level of nothing one reading in six would lie beneath that; twenty-six of them “below 2” had the level in 0.3 to 1.6. Without any end
// there would be no level of readings that are all open below.
const farBelow = 3

// told is the reading as a level gives it with a scatter about it, by a setup that reads q of what it should.
func (p point) told(q, level float64) series.Seen {
	own := p.own(level * q)
	s := series.Seen{Interval: interval.Interval{Low: p.seen.Low / q, High: p.seen.High / q}, SD: own / q}
	if p.below {
		s.Low -= farBelow * s.SD
	}
	return s
}

// wayKey is all that a way depends on.
type wayKey struct {
	set      setup
	reader   string
	dilution float64
}

func (l *links) wayOf(e Entry) way {
	k := wayKey{setup{Method: e.Method, Lot: e.Lot}, e.Reader, e.Dilution}
	if w, there := l.ways[k]; there {
		return w
	}
	var w way
	if records := l.Records[e.Method]; len(records) > 0 {
		w = records[len(records)-1].Way(e.Reader, e.Lot, e.Dilution)
	} else {
		shown := l.scatter[e.Method]
		shown.least = l.Kinds[e.Method].Resolution / 2
		w = shown
	}
	l.ways[k] = w
	return w
}

// steady is the level that readings of one sample, or of a water that stays as it is, say
// together: each scatters about it by what the method scatters there.
type steady struct {
	level, variance float64
	weights         []float64 // of the points, sum 1
	spread          []float64 // of own errors, by draw
	// misfit is how much the readings scatter about the level, in units of what they should;
	// degrees are those of it.
	misfit  float64
	degrees int
}

// steadyOf gives every reading its scatter at the common level and weighs by it; three
// rounds settle that to a thousandth. yield is how much of the sample each lot reads.
func steadyOf(points []point, yield func(set int) float64) steady {
	seen := make([]series.Seen, len(points))
	days := make([]float64, len(points))
	level := 0.0
	for _, p := range points {
		q := yield(p.set)
		level += (p.seen.Low + math.Min(p.seen.High, 3*math.Abs(p.seen.Low)+3)) / 2 / q / float64(len(points))
	}
	var sites []series.Site
	var s steady
	for range 3 {
		for i, p := range points {
			q := yield(p.set)
			seen[i] = p.told(q, level)
		}
		sites, _ = series.Walk{Days: days}.Fit(seen, sites)
		total, shift := 0.0, 0.0
		for _, t := range sites {
			total, shift = total+t.Precision, shift+t.Shift
		}
		if !(total > 0) {
			return steady{level: math.NaN(), variance: math.NaN()}
		}
		level, s.variance = shift/total, 1/total
	}
	s.level = level
	for i, t := range sites {
		w := t.Precision * s.variance
		s.weights = append(s.weights, w)
		if t.Precision > 0 && !points[i].over {
			d := t.Shift/t.Precision - level
			s.misfit += d * d * t.Precision
			s.degrees++
		}
	}
	s.degrees--
	s.spread = make([]float64, draws)
	for i, p := range points {
		for d, f := range p.way.Spreads() {
			s.spread[d] += s.weights[i] * f
		}
	}
	return s
}

// shared adds k times the errors of the level that readings have in common, without those
// of their lots' yields.
func (s steady) shared(points []point, yield func(set int) float64, k float64, into []float64) {
	type same struct {
		way way
		q   float64
	}
	weights := map[same]float64{}
	var order []same
	for i, p := range points {
		key := same{p.way, yield(p.set)}
		if _, there := weights[key]; !there {
			order = append(order, key)
		}
		weights[key] += s.weights[i]
	}
	for _, key := range order {
		key.way.Shared(s.level*key.q, k*weights[key]/key.q, into)
	}
}

// byNitrite adds the errors that results share by the factor of their method for nitrite, each with its
// weight, and those that they share by nitrite that nobody measured.
func byNitrite(points []point, weight func(i int) float64, into []float64) {
	by := map[string]float64{}
	for i, p := range points {
		if p.uFactor > 0 {
			by[p.Method] += weight(i) * p.uFactor
		}
		if p.unstated > 0 {
			by[p.Method+" unstated in "+p.Water] += weight(i) * p.unstated
		}
	}
	for method, u := range sorted(by) {
		for d, z := range ownNormals("nitrite " + method) {
			into[d] += u * z
		}
	}
}

// byDay orders points by time, and alike however they were entered.
func byDay(a, b point) int {
	return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.Method, b.Method), cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Reader, b.Reader), cmp.Compare(a.Reading, b.Reading))
}

func sortPoints(list []point) { slices.SortStableFunc(list, byDay) }
