package assess

import (
	"math"
	"testing"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/record"
)

// The level at which a row first reaches a height, by hand: between its points, on a flat
// piece, and beyond its ends along a longer piece.
func TestLevelOnARow(t *testing.T) {
	grid := []float64{0, 1, 2, 3, 4, 5, 6}
	row := []float64{1, 2, 4, 4, 5, 7, 10}
	for _, x := range []struct{ y, want float64 }{
		{1.5, 0.5}, {3, 1.5}, {4, 2}, {4.5, 3.5}, {8.5, 5.5}, {10, 6},
		{0, -1},            // along (0, 1) to (4, 5)
		{13, 2 + 9/(6./4)}, // along (2, 4) to (6, 10)
	} {
		about(t, "level", levelOn(grid, row, x.y), x.want, 1e-12)
	}
	about(t, "on a row that does not rise", levelOn([]float64{0, 1, 2}, []float64{3, 3, 3}, 5), 1, 1e-12)
}

// A draw's bias with its doubt taken off: the square less twice the variance, never turned round.
func TestBiasWithItsDoubtTakenOff(t *testing.T) {
	for _, x := range []struct{ mean, variance, want float64 }{{5, 0, 5}, {5, 4, 3}, {0, 0.5, 3 - math.Sqrt(9-1)}, {3.1, 1, 3}} {
		about(t, "mean", lessBias(record.Normal{Mean: x.mean, SD: 0.4}, 3, x.variance).Mean, x.want, 1e-12)
	}
}

// ofRatios are places whose draws of log(error ÷ permitted) are given.
func ofRatios(rs ...ratios) (ps []place, of func(place) ratios) {
	for i, r := range rs {
		ps = append(ps, place{at: float64(10 * (i + 1)), permitted: 2, raw: r})
	}
	return ps, func(p place) ratios { return p.raw }
}

// The verdict by hand: draws even from a middle to a width either way. Fit where the upper limit
// of every place lies within; not fit where the band lies beyond at one; the worst place is that of the
// largest middle, or the one that told.
func TestVerdictByHand(t *testing.T) {
	even := func(at, width float64) []float64 {
		v := make([]float64, 1001)
		for i := range v {
			v[i] = 2 * math.Exp(at+width*(float64(i)/500-1)) // the error, of which 2 is permitted
		}
		return v
	}
	same := func(at, width float64) ratios {
		form, wide, own := even(at, width), even(at, width), even(at-1, width)
		r := glimpse{forms: len(form), wides: len(wide), form: func(k int) float64 { return form[k] }, wide: func(k int) float64 { return wide[k] }, own: func(k int) float64 { return own[k] }}.whole(rule{above: 0.025})
		r.by = math.Log(2)
		return r
	}
	by := rule{tail: 0.025, above: 0.025}
	ps, of := ofRatios(same(-0.5, 0.2), same(-0.3, 0.2))
	e := errorWithin(ps, of, by)
	if e.Verdict != Fit || e.WorstAt != 20 {
		t.Errorf("within at both: %+v", e)
	}
	about(t, "error", float64(e.Error95), 2*math.Exp(-0.3), 1e-9)
	about(t, "upper limit", float64(e.High), 2*math.Exp(-0.3+0.95*0.2), 1e-3)
	about(t, "lower limit", float64(e.Low), 2*math.Exp(-0.3-0.95*0.2), 1e-3)
	ps, of = ofRatios(same(-0.5, 0.2), same(-0.15, 0.2))
	if e := errorWithin(ps, of, by); e.Verdict != Undecided {
		t.Errorf("one place at the border: %+v", e)
	}
	ps, of = ofRatios(same(-0.5, 0.2), same(0.25, 0.2))
	if e := errorWithin(ps, of, by); e.Verdict != NotFit || e.WorstAt != 20 {
		t.Errorf("one place beyond: %+v", e)
	}
	// the wider place has the larger middle, the other one tells
	ps, of = ofRatios(same(0.25, 0.2), same(0.5, 2))
	if e := errorWithin(ps, of, by); e.Verdict != NotFit || e.WorstAt != 10 {
		t.Errorf("told by the other place: %+v", e)
	}
	// without any bias it is the spread that tells
	alone := same(-0.5, 0.2)
	alone.own = sampleOf(even(0.4, 0.2), false)
	ps, of = ofRatios(alone)
	if e := errorWithin(ps, of, by); e.Verdict != NotFit {
		t.Errorf("a spread beyond what is permitted: %+v", e)
	}
	alone.wide = sampleOf(even(-0.5, 0.2), true)
	ps, of = ofRatios(alone)
	if e := errorWithin(ps, of, rule{tail: 0.025, above: 0.025, steps: true}); e.Verdict != Fit { // of steps there is no spread alone
		t.Errorf("of steps: %+v", e)
	}
	endlessly := same(20, 0.1)
	ps, of = ofRatios(endlessly)
	if e := errorWithin(ps, of, by); e.Error95.OK() || e.High.OK() {
		t.Errorf("no end: %+v", e)
	}
}

// Sides of a bias and of a difference between techniques.
func TestSides(t *testing.T) {
	for _, x := range []struct {
		low, high float64
		want      string
	}{
		{-3, -1, readsLow}, {1, 3, readsHigh}, {-0.1, 0.1, readsRight}, {-3, 1, readsOpen}, {-0.1, 8, readsOpen}, {0.1, 0.4, readsHigh},
	} {
		if got := sideOf(x.low, x.high, 10); got != x.want {
			t.Errorf("%+v: %s, want %s", x, got, x.want)
		}
	}
	at := func(permitted, low90, high90 float64) TechniqueAt {
		return TechniqueAt{Permitted: num.Number(permitted), Apart: Apart{Low90: num.Number(low90), High90: num.Number(high90)}}
	}
	none := float64(num.None)
	for _, x := range []struct {
		levels  []TechniqueAt
		differs bool
		want    string
	}{
		{[]TechniqueAt{at(none, 0.5, 1.5)}, true, NoNeedGiven},
		{[]TechniqueAt{at(1, -0.5, 0.5)}, true, SameForNeed}, // what differs by too little to matter
		{[]TechniqueAt{at(1, 0.5, 1.5)}, true, Different}, {[]TechniqueAt{at(1, -1.5, -0.5)}, true, Different},
		{[]TechniqueAt{at(1, -1.5, 0.5)}, false, Undecided}, {[]TechniqueAt{at(1, -0.5, 1.5)}, false, Undecided},
		{[]TechniqueAt{at(1, -0.5, 0.5), at(none, 2, 3)}, true, SameForNeed}, // beyond the need it is of no account
		{[]TechniqueAt{at(1, -0.5, 0.5), at(2, -0.5, 2.5)}, false, Undecided},
	} {
		f := TechniqueFinding{ByLevel: x.levels}
		f.Margin = f.margin()
		if got := techniqueVerdict(f, x.differs); got != x.want {
			t.Errorf("%+v: %s, want %s", x, got, x.want)
		}
	}
}

// The smallest error that needs permit at a place, and none where no need reaches.
func TestPermittedByAnyNeed(t *testing.T) {
	needs := []knownwater.Need{{Low: 1, High: 5, Permitted: []knownwater.Permit{{At: 1, Error: 2}}}, {Low: 4, High: 9, Permitted: []knownwater.Permit{{At: 4, Error: 1}}}}
	for c, want := range map[float64]float64{1: 2, 3: 2, 4: 1, 5: 1, 9: 1} {
		if e, ok := permittedAt(needs, c); !ok || e != want {
			t.Errorf("at %v: %v, %v", c, e, ok)
		}
	}
	for _, c := range []float64{0.9, 9.1} {
		if _, ok := permittedAt(needs, c); ok {
			t.Errorf("permitted at %v", c)
		}
	}
}

// Slopes of lines that pass through all of some intervals, by hand.
func TestSlopesThroughIntervals(t *testing.T) {
	levels := []level{{value: 1}, {value: 2}, {value: 4}}
	low, high, ok := straightThrough(levels, [][2]float64{{1, 2}, {2, 3}, {5, 6}})
	// pairs: 1 and 2: 0 to 2; 1 and 4: 1 to 5/3; 2 and 4: 1 to 2
	if !ok || low != 1 || high != 5./3 {
		t.Errorf("%v to %v, %v", low, high, ok)
	}
	if _, _, ok := straightThrough(levels, [][2]float64{{1, 2}, {5, 6}, {5, 6}}); ok {
		t.Error("a line through a step")
	}
	if _, _, ok := straightThrough(levels, [][2]float64{{2, 1}, {2, 3}, {5, 6}}); ok {
		t.Error("a line through readings that share nothing")
	}
}

// Places of a need: both ends, ten between, every known inside, each once.
func TestPlacesOfANeed(t *testing.T) {
	st := &study{design: &design{}}
	st.levels = []level{{value: 0}, {value: 2}, {value: 2.5}, {value: 13}, {value: 20}}
	got := st.spots(2, 13)
	want := []float64{2, 2.5, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13}
	if len(got) != len(want) {
		t.Fatalf("%v, want %v", got, want)
	}
	for i := range got {
		about(t, "a place", got[i], want[i], 1e-9)
	}
	if got := st.spots(5, 5); len(got) != 1 || got[0] != 5 {
		t.Errorf("of one place: %v", got)
	}
}

// Steps that have nothing in common with a number pass over every place once.
func TestLatticeOfPlaces(t *testing.T) {
	for _, n := range []int{10, 12, 97} {
		seen := map[float64]bool{}
		for d := range n {
			v := lattice(d, n, 4)
			if !(v > 0 && v < 1) || seen[v] {
				t.Errorf("%d of %d: %v", d, n, v)
			}
			seen[v] = true
		}
	}
	if gcd(12, 18) != 6 || gcd(7, 9) != 1 || gcd(5, 0) != 5 {
		t.Error("greatest common divisors")
	}
}

// How far down and up knowns speak, each with its uncertainty, and which needs they touch.
func TestReachOfKnowns(t *testing.T) {
	levels := []level{{value: 1, u: 0.1}, {value: 5, u: 0.5}}
	low, high := reach(levels, 0.9)
	about(t, "down to", low, 0.8, 1e-12)
	about(t, "up to", high, 6, 1e-12)
	if low, _ := reach(levels, 0); low != 0 {
		t.Errorf("a record from nothing speaks from %v", low)
	}
	for _, x := range []struct {
		low, high float64
		want      bool
	}{{2, 3, false}, {5.5, 9, true}, {6.1, 9, false}, {0, 0.85, true}, {0, 0.75, false}, {4, 4.5, true}, {1, 5, true}} {
		if got := tried(levels, knownwater.Need{Low: x.low, High: x.high}); got != x.want {
			t.Errorf("%v to %v: tried %v", x.low, x.high, got)
		}
	}
}

// The error of averages through a switch, where half of the first readings stay: the E that 95 of 100 keep
// within, of the two normals together; where all stay, or none, that of one.
func TestAverageThroughASwitch(t *testing.T) {
	const c = 5.0
	one := func(n record.Normal) drawsOf {
		return behaviour{form: []record.Normal{n}, wide: []record.Normal{n}}.draws()
	}
	two := func(n record.Normal) behaviour {
		return behaviour{form: []record.Normal{n, n}, wide: []record.Normal{n, n}}
	}
	a, b := record.Normal{Mean: 5.3, SD: 0.2}, record.Normal{Mean: 4.9, SD: 0.4}
	for first, share := range map[float64]float64{6: 0.5, 6 - 0.5*0.67449: 0.75, 1: 1, 11: 0} {
		plain := &study{design: &design{}, rec: &record.Record{}, behaves: map[float64]behaviour{c: two(record.Normal{Mean: first, SD: 0.5})}}
		r := switched{plain: plain, over: 6}.averageGlimpse(c, one(a), one(b)).whole(rule{above: 0.025, tail: 0.025})
		e := math.Exp(r.middle)
		inside := func(n record.Normal) float64 { return num.Phi((c+e-n.Mean)/n.SD) - num.Phi((c-e-n.Mean)/n.SD) }
		about(t, "share within", share*inside(a)+(1-share)*inside(b), 0.95, 1e-3)
		e = math.Exp(r.own.centre)
		about(t, "share within without bias", share*(2*num.Phi(e/a.SD)-1)+(1-share)*(2*num.Phi(e/b.SD)-1), 0.95, 1e-3)
	}
}

// Half drops read 0.3 low at 1.7, with less bias 0.1 low: by hand, 1 to 2 are read with a chance of Φ(0.6/0.3) = 97.7 % as they are, which
// are 0.7 off at most, and of Φ(0.4/0.3) = 90.9 % with less bias, when 2.5 is read too, 0.8 off. Numbers err less with less bias.
func TestLeastErrorOfSteps(t *testing.T) {
	d, steps := record.Normal{Mean: 1.4, SD: 0.3}, nestOf([]float64{1.2, 0.7, 0.2, 0.3, 0.8}, []float64{0, 0.5, 1, 1.5, 2, 2.5})
	about(t, "in steps", steps.within(errorAt{centre: 1.7, inSteps: true}.least(d, 0.04)), 0.7, 1e-12)
	numbers := normalAt(1.7)
	about(t, "of numbers", numbers.of(numbers.least(d, 0.04)), numbers.of(record.Normal{Mean: 1.6, SD: 0.3}), 1e-12)
}
