package inverse_test

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
)

// A sample that was diluted fourfold holds four times what its dilution does, in every
// word of the answer.
func TestTurnOfADilution(t *testing.T) {
	from10 := made([]float64{10, 20, 30, 40}, func(c float64) float64 { return 2 + 0.5*c }, 0.8)
	for name, x := range map[string]struct {
		of   inverse.Response
		seen interval.Interval
	}{
		"inside": {known(2, 0.5, 0.8), interval.Exact(12)}, "near nothing": {known(2, 0.5, 0.8), interval.Exact(2.5)}, "near the top": {known(2, 0.5, 0.8), interval.Exact(21.5)},
		"wide": {known(2, 0.5, 0.8), interval.Interval{Low: 8, High: 11}}, "above all": {known(2, 0.5, 0.8), interval.Exact(60)},
		"below what was tried": {from10, interval.Exact(4)}, "near the lowest": {from10, interval.Exact(7)},
	} {
		r, seen := x.of, x.seen
		scaled := inverse.Scaled{Response: r, K: 4}
		plain, got := inverse.Turn(r, seen), inverse.Turn(scaled, seen)
		for what, pair := range map[string][2]float64{"estimate": {got.Estimate, 4 * plain.Estimate}, "low": {got.Low, 4 * plain.Low}, "high": {got.High, 4 * plain.High}} {
			if !(math.Abs(pair[0]-pair[1]) <= 1e-6 || math.IsNaN(pair[0]) && math.IsNaN(pair[1])) {
				t.Errorf("%s, %s: %v, want %v", name, what, pair[0], pair[1])
			}
		}
		if got.Open != plain.Open {
			t.Errorf("%s: open %q, undiluted %q", name, got.Open, plain.Open)
		}
	}
}

// hills is a response whose margin is given, over 1 to 9; its level is what was read.
type hills func(c float64) float64

func (h hills) Range() (bottom, top float64) { return 1, 9 }
func (h hills) Knots() []float64             { return []float64{1, 2, 3, 4, 5, 6, 7, 8, 9} }
func (h hills) Level(y float64) float64      { return y }
func (h hills) Margin(c float64, _ interval.Interval) float64 {
	return h(c)
}

// A folded set: its first piece may go down to nothing, its last on without end.
func TestTurnOfAFoldedSet(t *testing.T) {
	for _, x := range []struct {
		name   string
		margin hills
		want   inverse.Answer
	}{
		{"closed", func(c float64) float64 { return 1 - math.Abs(math.Abs(c-5)-2) }, inverse.Answer{Low: 2, High: 8, Parts: []interval.Interval{{Low: 2, High: 4}, {Low: 6, High: 8}}}},
		{"open above", func(c float64) float64 { return math.Abs(c-5) - 1.5*math.Min(1, 10-c) }, inverse.Answer{Low: 0, High: math.NaN(), Open: inverse.Above,
			Parts: []interval.Interval{{Low: 0, High: 3.5}, {Low: 6.5, High: math.Inf(1)}}}},
		{"open below", func(c float64) float64 { return math.Max(2-c, 1-math.Abs(c-6)) }, inverse.Answer{Low: 0, High: 7, Open: inverse.Below,
			Parts: []interval.Interval{{Low: 0, High: 2}, {Low: 5, High: 7}}}},
	} {
		got := inverse.Turn(x.margin, interval.Exact(5))
		near := func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) <= 1e-9 }
		if got.Open != x.want.Open || !near(got.Low, x.want.Low) || !near(got.High, x.want.High) || len(got.Parts) != len(x.want.Parts) {
			t.Errorf("%s: %+v, want %+v", x.name, got, x.want)
			continue
		}
		for i, p := range got.Parts {
			if !near(p.Low, x.want.Parts[i].Low) || !near(p.High, x.want.Parts[i].High) {
				t.Errorf("%s, piece %d: %v, want %v", x.name, i, p, x.want.Parts[i])
			}
		}
	}
}

// No estimate beyond what was tried: above the top none, below a bottom that is not nothing
// none; below nothing it is nothing.
func TestNoEstimateBeyond(t *testing.T) {
	fromNothing := known(2, 0.5, 0.8) // 0 to 40
	from10 := made([]float64{10, 20, 30, 40}, func(c float64) float64 { return 2 + 0.5*c }, 0.8)
	for _, x := range []struct {
		name string
		r    inverse.Response
		seen float64
		want float64
	}{
		{"inside", fromNothing, 12, 20}, {"beyond the top", fromNothing, 22.5, math.NaN()}, {"below nothing", fromNothing, 1.5, 0},
		{"inside from 10", from10, 12, 20}, {"below 10", from10, 6.5, math.NaN()}, {"beyond the top from 10", from10, 22.5, math.NaN()},
	} {
		got := inverse.Turn(x.r, interval.Exact(x.seen)).Estimate
		if !(math.Abs(got-x.want) <= 2e-3 || math.IsNaN(got) && math.IsNaN(x.want)) {
			t.Errorf("%s: estimate %v, want %v", x.name, got, x.want)
		}
	}
}

// A set that is drawn out to a known: of an open one the end stays open; a known within,
// or none, leaves it as it was.
func TestHoldingOfOpenSets(t *testing.T) {
	r := known(2, 0.5, 0.8)
	above := inverse.Turn(r, interval.Exact(21.5))
	if got := above.Holding(r, 20); got.Open != inverse.Above || got.Low != 20 || !math.IsNaN(got.High) {
		t.Errorf("open above, drawn down to 20: %+v", got)
	}
	if got := above.Holding(r, 39); got.Low != above.Low || got.Open != above.Open {
		t.Errorf("a known within: %+v, was %+v", got, above)
	}
	closed := inverse.Turn(r, interval.Exact(12))
	if got := closed.Holding(r, math.NaN()); got.Low != closed.Low || got.High != closed.High || got.Open != closed.Open {
		t.Errorf("no known: %+v, was %+v", got, closed)
	}
	if got := closed.Holding(r, 30); got.High != 30 || got.Low != closed.Low || got.Open != inverse.Closed {
		t.Errorf("drawn up to 30: %+v", got)
	}
}

// scattered is a response of which the mean is c between 2 and 8, flat beyond, and that scatters otherwise at each place.
type scattered func(c float64) float64

func (s scattered) Range() (bottom, top float64) { return 0, 10 }
func (s scattered) Knots() (out []float64) {
	for i := range 101 {
		out = append(out, float64(i)/10)
	}
	return out
}
func (s scattered) Level(y float64) float64 { return math.Max(y, 0) }
func (s scattered) Margin(c float64, seen interval.Interval) float64 {
	mean := math.Min(math.Max(c, 2), 8)
	return math.Min(num.Phi((seen.High-mean)/s(c)), num.Phi((mean-seen.Low)/s(c))) - 0.025
}

// A reading lower than the lowest known gives is no more than that known, though one further up, which scatters more, gives it, too;
// one higher than the highest gives, likewise.
func TestTurnWhereTheEndsScatterLess(t *testing.T) {
	middle := scattered(func(c float64) float64 { return 0.1 + 0.4*math.Sin(math.Pi*c/10) })
	if a := inverse.Turn(middle, interval.Exact(1.6)); a.Open != inverse.Below || a.Low != 0 || !(a.High > 1 && a.High < 3) {
		t.Errorf("low: %+v, want from nothing on", a)
	}
	if a := inverse.Turn(middle, interval.Exact(8.4)); a.Open != inverse.Above || !(a.Low > 7 && a.Low < 8.5) {
		t.Errorf("high: %+v, want open above", a)
	}
	if a := inverse.Turn(middle, interval.Exact(6)); a.Open != inverse.Closed || !(a.Low > 4 && a.High < 8) {
		t.Errorf("in the middle: %+v", a)
	}
}
