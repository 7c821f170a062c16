package inverse_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
	"knownwater/science/record"
)

// known is a record without doubt: reading = a + b·c, spread sd.
func known(a, b, sd float64) *record.Record {
	return made([]float64{0, 10, 20, 30, 40}, func(c float64) float64 { return a + b*c }, sd)
}

// made fits a record to level means that are known exactly.
func made(levels []float64, response func(float64) float64, sd float64) *record.Record {
	k := record.Knowledge{Level: levels, DF: 50}
	rng := num.Source(1)
	for _, c := range levels {
		k.Mean = append(k.Mean, response(c))
	}
	for range 64 {
		d, z := make([]float64, len(levels)), make([]float64, len(levels))
		for i := range d {
			d[i] = k.Mean[i] + 1e-7*rng.NormFloat64()
		}
		k.Draw, k.Known = append(k.Draw, d), append(k.Known, z)
	}
	r, err := record.Fit(k)
	if err != nil {
		panic(err)
	}
	at := func(int, float64) float64 { return sd }
	return record.New(r, record.Spread{All: at, Same: at}, record.Shown{}, levels[0], levels[len(levels)-1], 1)
}

// With a straight line and a known spread the set is the classical inverse
// prediction (y − a ± 1.96 s)/b (Miller & Miller, Statistics and Chemometrics
// for Analytical Chemistry, ch. 5, without the line's own doubt).
func TestTurnOnALine(t *testing.T) {
	r := known(2, 0.5, 0.8)
	got := inverse.Turn(r, interval.Exact(12))
	for _, c := range []struct {
		name      string
		got, want float64
	}{{"estimate", got.Estimate, 20}, {"low", got.Low, 20 - 1.959964*1.6}, {"high", got.High, 20 + 1.959964*1.6}} {
		if !(math.Abs(c.got-c.want) <= 2e-3) {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
	if got.Open != inverse.Closed || got.Parts != nil {
		t.Errorf("open %q, parts %v: want a closed set in one piece", got.Open, got.Parts)
	}
}

func TestTurnAtTheEnds(t *testing.T) {
	r := known(2, 0.5, 0.8)
	for _, c := range []struct {
		name      string
		seen      interval.Interval
		open      inverse.Open
		low, high float64
	}{
		{"near nothing", interval.Exact(2.5), inverse.Below, 0, 1 + 1.959964*1.6},
		{"below all", interval.Exact(-5), inverse.Below, 0, 0},
		{"near the top", interval.Exact(21.5), inverse.Above, 39 - 1.959964*1.6, math.NaN()},
		{"above all", interval.Exact(60), inverse.Above, 40, math.NaN()},
		{"open below", interval.Below(6), inverse.Below, 0, 8 + 1.959964*1.6},
		{"open above", interval.Above(16), inverse.Above, 28 - 1.959964*1.6, math.NaN()},
	} {
		got := inverse.Turn(r, c.seen)
		if got.Open != c.open || !(math.Abs(got.Low-c.low) <= 4e-3) || !(math.Abs(got.High-c.high) < 4e-3 || math.IsNaN(got.High) && math.IsNaN(c.high)) {
			t.Errorf("%s: %+v, want open %q, %v to %v", c.name, got, c.open, c.low, c.high)
		}
		if c.open == inverse.Above && got.Estimate > r.Top {
			t.Errorf("%s: estimate %v beyond what was tested", c.name, got.Estimate)
		}
	}
}

// In a dead zone the answer is a range from nothing to its end, not a number.
func TestTurnInADeadZone(t *testing.T) {
	r := made([]float64{0, 1, 2, 3, 6, 12, 24}, func(c float64) float64 { return 2.4 + 0.58*math.Max(0, c-2) }, 0.1)
	got := inverse.Turn(r, interval.Interval{Low: 2.35, High: 2.45})
	if got.Open != inverse.Below || got.Low != 0 || got.High < 1.9 || got.High > 2.8 {
		t.Errorf("%+v: want a set from 0 to a little above 2", got)
	}
}

// A wider reading never gives a narrower answer, with a given record.
func TestWiderReadingWiderSet(t *testing.T) {
	records := []*record.Record{
		known(2, 0.5, 0.8),
		made([]float64{0, 1, 2, 3, 6, 12, 24}, func(c float64) float64 { return 2.4 + 0.58*math.Max(0, c-2) }, 0.3),
		made([]float64{0, 1, 5, 20, 40}, func(c float64) float64 { return 10 * c / (1 + c/10) }, 3),
	}
	rapid.Check(t, func(t *rapid.T) {
		r := records[rapid.IntRange(0, len(records)-1).Draw(t, "record")]
		low := rapid.Float64Range(-5, 60).Draw(t, "low")
		width := rapid.Float64Range(0, 20).Draw(t, "width")
		down := rapid.Float64Range(0, 10).Draw(t, "down")
		up := rapid.Float64Range(0, 10).Draw(t, "up")
		narrow := interval.Interval{Low: low, High: low + width}
		wide := interval.Interval{Low: low - down, High: low + width + up}
		a, b := inverse.Turn(r, narrow), inverse.Turn(r, wide)
		top := func(s inverse.Answer) float64 {
			if s.Open == inverse.Above {
				return math.Inf(1)
			}
			return s.High
		}
		inside := !(a.Open == inverse.Below && a.High == r.Bottom) // a reading below all says "nothing", the nearest end
		if inside && a.Low < r.Top && (b.Low > a.Low+1e-9 || top(b) < top(a)-1e-9) {
			t.Fatalf("%v gives %v to %v, the wider %v gives %v to %v", narrow, a.Low, top(a), wide, b.Low, top(b))
		}
	})
}

// The set holds the true concentration in 95 of 100 readings, wherever it is.
func TestTurnCovers(t *testing.T) {
	r := known(2, 0.5, 0.8)
	rng := num.Source(9)
	for _, c := range []float64{0, 0.5, 5, 20, 39.5} {
		in, n := 0, 4000
		for range n {
			s := inverse.Turn(r, interval.Exact(2+0.5*c+0.8*rng.NormFloat64()))
			if s.Low <= c && (c <= s.High || s.Open == inverse.Above) {
				in++
			}
		}
		share := float64(in) / float64(n)
		if share < 0.94 { // binomial standard error 0.34 %
			t.Errorf("at %v the set holds the truth in %.1f %% of readings", c, 100*share)
		}
	}
}
