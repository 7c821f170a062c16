package curve

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
)

// query is one mean signal held against a curve.
type query struct {
	Curve
	y   float64 // mean of the replicates
	m   float64 // their number
	rel float64 // relative standard uncertainty that enters with the concentration
	own float64 // variance of the water's own colour that was taken off, beside S²·v(0)
}

// spot is the distribution of the mean signal at a concentration.
type spot struct {
	mean, slope          float64
	reading, noise, more float64 // variances: of the readings, of the curve by scatter, as stated
	known                float64 // the knowns' share of more
	df                   float64
}

func (s spot) scale() float64 { return math.Sqrt(s.reading + s.noise + s.more) }

// degrees of freedom: ν·(all/(reading + noise))².
func (s spot) degrees() float64 {
	random := s.reading + s.noise
	share := (random + s.more) / random
	return s.df * share * share
}

func (q query) spot(w Weighting, x float64, g []float64) spot {
	q.form.Gradient(w.Coef, x, g)
	s := spot{mean: q.form.At(w.Coef, x), slope: q.form.Slope(w.Coef, x), df: w.DF}
	s.reading = w.Size * w.Size * w.Variance.at(x) / q.m
	if q.own > 0 {
		s.reading += w.Size * w.Size * w.Variance.at(0) * q.own
	}
	s.noise = square(w.Noise, g)
	if w.Known != nil {
		s.known = square(w.Known, g)
	}
	lot := s.slope * x * q.rel
	s.more = s.known + lot*lot
	return s
}

// below is P(mean signal ≤ y | x), the lesser and the greater of what whoever
// expects steady scatter and whoever expects it to grow give it.
func (q query) below(x float64) (least, most float64) {
	g := make([]float64, q.form.Params)
	steady, growing := 0.0, 0.0
	for _, w := range q.Weightings {
		s := q.spot(w, x, g)
		p := num.TCDF((q.y-s.mean)/s.scale(), s.degrees())
		steady += w.Steady * p
		growing += w.Growing * p
	}
	return math.Min(steady, growing), math.Max(steady, growing)
}

// falls says whether signals fall as the concentration rises.
func (c Curve) falls() bool { return c.At(c.Range.LevelHigh) < c.At(c.Range.LevelLow) }

// high is the chance that a signal at most as far along is seen at x: it falls as x
// rises. least and most are those of the two beliefs.
func (q query) high(x float64) (least, most float64) {
	least, most = q.below(x)
	if q.falls() {
		return 1 - most, 1 - least
	}
	return least, most
}

// outside says whether no concentration in the range gives the signal.
func (q query) outside() string {
	if !q.scattered() { // no scatter known: the ends themselves decide
		up := q.y > q.At(q.Range.LevelHigh) != q.falls() && q.y != q.At(q.Range.LevelHigh)
		down := q.y < q.At(q.Range.LevelLow) != q.falls() && q.y != q.At(q.Range.LevelLow)
		switch {
		case up:
			return Above
		case down:
			return Below
		}
		return ""
	}
	far := 0.1 * (q.Range.LevelHigh - q.Range.LevelLow)
	x, ok := q.centre()
	top, _ := q.high(q.Range.LevelHigh)
	_, bottom := q.high(q.Range.LevelLow)
	switch {
	case top > 1-outer, ok && x > q.Range.LevelHigh+far:
		return Above
	case bottom < outer, ok && x < q.Range.LevelLow-far:
		return Below
	}
	return ""
}

// reach is how far the curve is followed beyond its range, to find where an
// interval ends: as long as it keeps its direction, at most as far again.
func (c Curve) reach() (a, b float64) {
	span := c.Range.LevelHigh - c.Range.LevelLow
	return c.follow(c.Range.LevelLow, -span), c.follow(c.Range.LevelHigh, span)
}

// follow goes from x by at most span, in steps, while the signal moves on the same way.
func (c Curve) follow(x, span float64) float64 {
	const steps = 64
	step := span / steps
	direction := (c.At(c.Range.LevelHigh) - c.At(c.Range.LevelLow)) * span
	for range steps {
		// not only the ends: a pole between them turns the signal over
		up, mid := c.At(x+step)-c.At(x), c.At(x+step/2)-c.At(x)
		if !(up*direction > 0 && mid*direction > 0 && math.Abs(mid) < math.Abs(up)) || !(c.Slope(x+step)*(c.At(c.Range.LevelHigh)-c.At(c.Range.LevelLow)) > 0) {
			break
		}
		x += step
	}
	return x
}

// centre is where the curve meets the signal.
func (q query) centre() (float64, bool) {
	if q.form.Name == Line {
		x := (q.y - q.Coef[0]) / q.Coef[1]
		return x, !math.IsNaN(x) && !math.IsInf(x, 0)
	}
	off := func(x float64) float64 { return q.At(x) - q.y }
	a, b := q.Range.LevelLow, q.Range.LevelHigh
	if off(a)*off(b) > 0 { // not within the range: how far beyond the curve can be followed takes long to find out
		a, b = q.reach()
	}
	x, err := num.Root(off, a, b, 1e-13*(b-a))
	return x, err == nil
}

// uncertainty is U at x by parts.
func (q query) uncertainty(x float64) (float64, []Component) {
	g := make([]float64, q.form.Params)
	var reading, noise, known, lot, between float64
	for _, w := range q.Weightings {
		s := q.spot(w, x, g)
		k := w.Mass / (s.slope * s.slope)
		reading += k * s.reading
		noise += k * s.noise
		known += k * s.known
		lot += k * (s.more - s.known)
		d := (s.mean - q.y) / s.slope
		between += w.Mass * d * d
	}
	var parts []Component
	for _, p := range []Component{{"reading", reading}, {"curve", noise + between}, {"knowns", known}, {"dilution and lot", lot}} {
		if p.U > 0 {
			parts = append(parts, Component{p.Name, math.Sqrt(p.U)})
		}
	}
	u := math.Sqrt(reading + noise + between + known + lot)
	if !q.scattered() {
		return math.NaN(), nil
	}
	return u, largestFirst(parts)
}

func largestFirst(parts []Component) []Component {
	slices.SortStableFunc(parts, func(a, b Component) int { return cmp.Compare(b.U, a.U) })
	return parts
}
