package curve

import (
	"math"
	"math/rand/v2"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
	"knownwater/science/record"
)

// searched finds the ends of {c : in(c)} within [bottom, top] without any thought:
// many points, and the middle of neighbours until they meet.
func searched(bottom, top float64, in func(c float64) bool) (parts []interval.Interval) {
	const steps = 1200
	between := func(a, b float64) float64 {
		was := in(a)
		for range 45 {
			if m := (a + b) / 2; in(m) == was {
				a = m
			} else {
				b = m
			}
		}
		return (a + b) / 2
	}
	was, last := false, bottom
	for i := range steps + 1 {
		t := float64(i) / steps
		c := bottom + (top-bottom)*t*t // closer together where little is
		is := in(c)
		switch {
		case is && (!was && i == 0):
			parts = append(parts, interval.Exact(c))
		case is && !was:
			parts = append(parts, interval.Interval{Low: between(last, c), High: c})
		case !is && was:
			parts[len(parts)-1].High = between(last, c)
		case is:
			parts[len(parts)-1].High = c
		}
		was, last = is, c
	}
	return parts
}

// agree holds an answer against pieces that were searched.
func agree(t *testing.T, name string, got inverse.Answer, want []interval.Interval, bottom, top, tolerance float64) {
	t.Helper()
	if len(want) == 0 {
		if !(got.Open == inverse.Above && got.Low == top || got.Open == inverse.Below && got.High == bottom) {
			t.Errorf("%s: %+v, no concentration gives this", name, got)
		}
		return
	}
	low, high, open := want[0].Low, want[len(want)-1].High, inverse.Closed
	if low <= bottom {
		low, open = 0, inverse.Below
	}
	if high >= top {
		high, open = math.NaN(), inverse.Above
	}
	far := func(a, b float64) bool { return !(math.Abs(a-b) <= tolerance) && !(math.IsNaN(a) && math.IsNaN(b)) }
	if got.Open != open || far(got.Low, low) || far(got.High, high) || len(want) > 1 != (got.Parts != nil) {
		t.Errorf("%s: %+v, searched %v", name, got, want)
	}
}

// anyRecord is a record of some shape, doubt and spread.
func anyRecord(rng *rand.Rand) *record.Record {
	levels := []float64{0, 1, 2, 5, 10, 20, 40}
	shape := []func(c float64) float64{
		func(c float64) float64 { return 0.4 + 1.1*c },
		func(c float64) float64 { return 0.7 + 1.05*c/(1+c/30) },
		func(c float64) float64 { return 2.4 + 0.58*math.Max(0, c-2) },
		func(c float64) float64 { return 10 + 9*math.Tanh((c-9)/3) + c/50 },
	}[rng.IntN(4)]
	k := record.Knowledge{Level: levels, DF: 12}
	doubt := math.Exp(-3 + 2*rng.Float64())
	for _, c := range levels {
		k.Mean = append(k.Mean, shape(c)+0.3*doubt*rng.NormFloat64())
	}
	for range 40 {
		d, z := make([]float64, len(levels)), make([]float64, len(levels))
		for i, c := range levels {
			d[i], z[i] = k.Mean[i]+doubt*rng.NormFloat64(), 0.01*c*rng.NormFloat64()
		}
		k.Draw, k.Known = append(k.Draw, d), append(k.Known, z)
	}
	resp, err := record.Fit(k)
	if err != nil {
		panic(err)
	}
	s0, share := math.Exp(-4+4*rng.Float64()), 0.1*rng.Float64()
	own := make([]float64, 40)
	for d := range own {
		own[d] = math.Exp(0.3 * rng.NormFloat64())
	}
	sd := func(d int, y float64) float64 { return own[d] * math.Hypot(s0, share*y) }
	return record.New(resp, record.Spread{All: sd, Same: sd}, record.Shown{}, 0, 40, 1)
}

func anySeen(rng *rand.Rand, top float64) interval.Interval {
	y := top * (1.3*rng.Float64() - 0.1)
	switch rng.IntN(6) {
	case 0:
		return interval.Below(y)
	case 1:
		return interval.Above(y)
	case 2, 3:
		return interval.Exact(y)
	}
	return interval.Interval{Low: y, High: y + 0.2*top*rng.Float64()}
}

// Records: the ends are those of the chances themselves, draw by draw; between the
// record's grid points its limits are straight lines, hence the tolerance.
func TestRecordsAgainstASearch(t *testing.T) {
	rng := num.Source(17)
	for range 300 {
		r := anyRecord(rng)
		seen := anySeen(rng, r.Mean[len(r.Mean)-1])
		want := searched(0, 40, func(c float64) bool {
			return r.Chance(c, interval.Below(seen.High)) >= 0.025 && r.Chance(c, interval.Above(seen.Low)) >= 0.025
		})
		width := 40.0
		if len(want) > 0 {
			width = want[len(want)-1].High - want[0].Low
		}
		agree(t, r.Response.Why.Code, inverse.Turn(r, seen), want, 0, 40, 0.01*width)
	}
}

// Curves: the ends are where Student's t, averaged over weightings, says so.
func TestCurvesAgainstASearch(t *testing.T) {
	rng := num.Source(18)
	shapes := []func(c float64) float64{
		func(c float64) float64 { return 0.012 + 0.16*c },
		func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.16*c)+0.01)/1.01) },
		func(c float64) float64 { return 0.01 + 0.2*c/(1+c/20) },
		func(c float64) float64 { return 1.5 - 0.1*c },
	}
	for range 300 {
		shape := shapes[rng.IntN(len(shapes))]
		s0, share := math.Exp(-6+3*rng.Float64()), 0.05*rng.Float64()
		var points []Point
		for _, c := range []float64{0, 1, 2, 4, 7, 10} {
			for range 3 {
				y := shape(c)
				points = append(points, Point{Level: c, Signal: y + math.Hypot(s0, share*y)*rng.NormFloat64(), Dilution: 1, Row: len(points) + 2})
			}
		}
		c, err := Fit(points, Options{Sure: true, Light: true, Weights: []Weights{"", Equal}[rng.IntN(2)]})
		if err != nil {
			continue
		}
		seen := anySeen(rng, math.Max(shape(0), shape(10)))
		bottom, top := c.Range.LevelLow, c.Range.LevelHigh
		if c.Range.Flat != nil {
			continue // its answers look at the knowns beyond the range too
		}
		g := make([]float64, c.form.Params)
		want := searched(bottom, top, func(x float64) bool {
			chance := func(y float64) (steady, growing float64) { // that one signal is at most y
				for _, w := range c.Weightings {
					c.form.Gradient(w.Coef, x, g)
					sd := math.Sqrt(w.Size*w.Size*w.Variance.at(x) + square(w.Noise, g))
					p := num.TCDF((y-c.form.At(w.Coef, x))/sd, w.DF)
					steady, growing = steady+w.Steady*p, growing+w.Growing*p
				}
				return steady, growing
			}
			s, b := chance(seen.High)
			asLow := seen.OpenAbove() || s >= outer || b >= outer
			s, b = chance(seen.Low)
			asHigh := seen.OpenBelow() || 1-s >= outer || 1-b >= outer
			return asLow && asHigh
		})
		r := c.Read(Sample{Seen: []interval.Interval{seen}})
		got := inverse.Answer{Low: r.Low, High: r.High, Open: inverse.Open(r.Open)}
		if r.Outside == Below {
			got.Low, got.High = 0, bottom
		}
		agree(t, c.Why.Code, got, want, bottom, top, 1e-8*top)
	}
}
