package matrix

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/num"
)

// readThrough reads additions back through the shape of a method's curve f. What the water holds and how much of an answer
// it lets through are fitted together, in two ways, as a water may bind a part of what is there, or weaken the
// colour that it gives (which are one where f is straight):
//
//	signal = zero + f(slope·(held + added)) − f(0),  signal = zero + slope·(f(held + added) − f(0)),
//
// under every way in which signals may scatter, with the covariance of the curve's coefficients by its points and its knowns,
// the zero's u, and the additions' own scatter, of their points less 2 as degrees of freedom.
// The 95 % set is that of levels whose score lies within the middle of Student's t (shaped.score), to either of the two beliefs
// in how signals scatter, as in curve.Read; for a straight line it is Fieller's. It covers the sets of both ways and of
// all curves alike: what points do not tell apart where knowns are read, they do not in how it goes down to nothing either.
// Of additions at random to methods of six kinds it held the water in 95 to 97 of 100 (docs/statistics-curves.md).
//
// Below nothing f goes on as it starts. Additions whose signals lie beyond the curve's range are left out.
func readThrough(points []curve.Point, zero *Zero, alike []curve.Curve) Added {
	a := none()
	out := 0
	var sets []held
	for _, c := range alike {
		g, left := together(points, zero, c)
		out = max(out, left)
		if len(g.added) < 2 || g.points < 3 {
			a.Notes = append(a.Notes, note.New("additions-beyond-curve").Number("left", float64(left)).Number("level", c.Range.LevelHigh))
			return a
		}
		for _, weakened := range []bool{false, true} {
			if weakened && c.Shape == curve.Line {
				continue
			}
			g.weakened = weakened
			h, ok := g.read()
			if !ok {
				a.Notes = append(a.Notes, note.New("additions-do-not-show"))
				return a
			}
			sets = append(sets, h)
			a.N = g.points
		}
	}
	a.cover(sets)
	if a.BentP < adequate {
		return a.refused(note.New("additions-off-curve").Number("p", a.BentP))
	}
	if out > 0 {
		a.Notes = append(a.Notes, note.New("additions-left-out").Number("additions", float64(out)))
	}
	switch {
	case zero == nil:
		a.Notes = append(a.Notes, note.New("blank-by-curve"))
	case zero.U == 0:
		a.Notes = append(a.Notes, note.New("zero-taken-as-exact"))
	}
	if a.Low <= 0 {
		a.Notes = append(a.Notes, note.New("background-may-be-none"))
	}
	return a
}

// adequate is the p-value of a misfit below which additions do not follow what they would be read by.
const adequate = 0.05

// refused is the answer without a level, for a reason.
func (a Added) refused(why note.Note) Added {
	b := none()
	b.BentP, b.N, b.Notes = a.BentP, a.N, []note.Note{why}
	return b
}

// held is what one shape and one way make of additions.
type held struct {
	value, u, low, high float64
	ratio, uRatio       float64
	degrees, misfit     float64
	slope, uSlope       float64
	t                   float64
	fitted              func(added float64) float64
}

// cover takes the level of the first, and the sets of all. Any may be the true one: what the levels differ by, ÷ √2, is the root mean
// square of what the first is off by.
func (a *Added) cover(sets []held) {
	first := sets[0]
	a.Value, a.Low, a.High, a.Degrees, a.BentP = first.value, first.low, first.high, first.degrees, first.misfit
	a.Slope, a.USlope, a.fitted = first.slope, first.uSlope, first.fitted
	a.SlopeRatio, a.SlopeRatioLow, a.SlopeRatioHigh = first.ratio, first.ratio-first.t*first.uRatio, first.ratio+first.t*first.uRatio
	most := 0.0
	for _, h := range sets[1:] {
		a.Low, a.High = math.Min(a.Low, h.low), math.Max(a.High, h.high)
		a.SlopeRatioLow, a.SlopeRatioHigh = math.Min(a.SlopeRatioLow, h.ratio-h.t*h.uRatio), math.Max(a.SlopeRatioHigh, h.ratio+h.t*h.uRatio)
		most = math.Max(most, math.Abs(h.value-first.value))
		if !(h.misfit <= a.BentP) { // one that they follow is enough
			a.BentP = h.misfit
		}
	}
	a.U = math.Hypot(first.u, most/math.Sqrt2)
}

// group are additions gathered by what was added, and the curve that they are read through.
type group struct {
	curve    curve.Curve
	zero     *Zero
	weakened bool // the water weakens the colour, and does not bind what is there

	added, dilution, mean, n, within, apparent []float64
	points                                     int
}

// together gathers the additions that lie within the curve's range, and says how many levels of them do not.
func together(points []curve.Point, zero *Zero, c curve.Curve) (g group, left int) {
	g = group{curve: c, zero: zero}
	points = slices.Clone(points)
	slices.SortStableFunc(points, func(a, b curve.Point) int {
		return cmp.Or(cmp.Compare(a.Level, b.Level), cmp.Compare(a.Dilution, b.Dilution))
	})
	for i := 0; i < len(points); {
		j, sum := i, 0.0
		for ; j < len(points) && points[j].Level == points[i].Level && points[j].Dilution == points[i].Dilution; j++ {
			sum += points[j].Signal
		}
		n := float64(j - i)
		mean, within := sum/n, 0.0
		for _, p := range points[i:j] {
			within += (p.Signal - mean) * (p.Signal - mean)
		}
		p := points[i]
		i = j
		at := g.apparentOf(mean)
		if math.IsNaN(at) || at > 1.05*c.Range.LevelHigh {
			left++
			continue
		}
		g.added, g.dilution, g.apparent = append(g.added, p.Level), append(g.dilution, p.Dilution), append(g.apparent, at*p.Dilution)
		g.mean, g.n, g.within = append(g.mean, mean), append(g.n, n), append(g.within, within)
		g.points += int(n)
	}
	return g, left
}

// apparentOf is where the curve has a signal, with its own signal at nothing for the zero that was told; 0 for less than that.
func (g group) apparentOf(signal float64) float64 {
	c := g.curve
	if g.zero != nil {
		signal += c.At(0) - g.zero.Signal
	}
	if (signal-c.At(0))*(c.At(c.Range.LevelHigh)-c.At(0)) <= 0 {
		return 0
	}
	return c.LevelOf(signal)
}

// read is false where no level, or no end of its set, is found: the signals do not rise enough.
func (g group) read() (held, bool) {
	line, err := num.Polynomial(g.added, g.apparent, g.n, 1)
	if err != nil || !(line.Coef[1] > 0) {
		return held{}, false
	}
	var ways []shaped
	var h held
	total, square, ratio2 := 0.0, 0.0, 0.0
	for _, w := range g.curve.Weightings {
		s := shaped{group: g, way: w, slope: line.Coef[1], held: line.Coef[0] / line.Coef[1]}
		if !s.fit() {
			continue
		}
		ways = append(ways, s)
		total += w.Mass
		h.value, square = h.value+w.Mass*s.held, square+w.Mass*(s.held*s.held+s.cov[1][1])
		h.ratio, ratio2 = h.ratio+w.Mass*s.slope, ratio2+w.Mass*(s.slope*s.slope+s.cov[0][0])
		h.misfit += w.Mass * s.misfit()
	}
	if ways == nil {
		return held{}, false
	}
	h.value, h.ratio, h.misfit = h.value/total, h.ratio/total, h.misfit/total
	h.u, h.uRatio = math.Sqrt(square/total-h.value*h.value), math.Sqrt(ratio2/total-h.ratio*h.ratio)
	best := slices.MaxFunc(ways, func(a, b shaped) int { return cmp.Compare(a.way.Mass, b.way.Mass) })
	_, h.degrees = best.score(h.value)
	h.t = num.TQuantile(0.975, h.degrees)
	_, _, d := best.at(best.slope, best.held, 0)
	h.slope, h.uSlope = d, d*h.uRatio/h.ratio
	h.fitted = func(added float64) float64 {
		y, _, _ := best.signal(best.slope, best.held+added)
		return y
	}
	h.low, h.high = g.end(ways, h.value, -1), g.end(ways, h.value, 1)
	if math.IsInf(h.low, -1) { // flat at its start: any level down to nothing gives these signals
		h.low, h.value = math.Min(0, h.high), math.Max(0, h.value)
	}
	return h, !math.IsNaN(h.low + h.high)
}

// margin is 0 or more where a level could well have given the additions, to either of the two beliefs in how signals scatter.
func margin(ways []shaped, held float64) float64 {
	steady, growing, all, every := 0.0, 0.0, 0.0, 0.0
	for _, s := range ways {
		t, df := s.score(held)
		p := num.TCDF(t, df)
		steady, growing = steady+s.way.Steady*p, growing+s.way.Growing*p
		all, every = all+s.way.Steady, every+s.way.Growing
	}
	steady, growing = steady/all, growing/every
	return math.Min(0.975-math.Min(steady, growing), math.Max(steady, growing)-0.025)
}

// end is where the set ends in a direction: NaN where it does not, −∞ where it goes down to nothing and further than the curve reaches.
func (g group) end(ways []shaped, from, direction float64) float64 {
	most := slices.Max(g.added)
	in := from
	for step := most / 64; step < 1e3*most; step *= 1.5 {
		at := from + direction*step
		switch m := margin(ways, at); {
		case math.IsNaN(m):
			return math.NaN()
		case m < 0:
			root, err := num.Root(func(x float64) float64 { return margin(ways, x) }, in, at, 1e-9*most)
			if err != nil {
				return math.NaN()
			}
			return root
		case at < -g.curve.Top:
			return math.Inf(-1)
		}
		in = at
	}
	return math.NaN()
}
