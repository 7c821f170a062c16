package plan

import (
	"math"
	"testing"

	"knownwater"
	"knownwater/science/interval"
)

var (
	card  = knownwater.Method{Name: "Violet card", Kind: knownwater.Chart, Swatches: []float64{0, 1, 2.5, 5, 10}}
	wide  = knownwater.Method{Name: "Wide card", Kind: knownwater.Chart, Swatches: []float64{0, 3, 6, 12, 20, 35, 70}}
	meter = knownwater.Method{Name: "Pocket meter", Kind: knownwater.Display, Resolution: 0.1, Range: &interval.Interval{Low: 0, High: 30}}
	low   = knownwater.Need{Name: "keep it low", Low: 0.5, High: 8, Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}}
)

func TestLevels(t *testing.T) {
	for name, c := range map[string]struct {
		methods []knownwater.Method
		needs   []knownwater.Need
		fewest  int
		top     float64
	}{
		"chart alone":       {[]knownwater.Method{card}, nil, 4, 10},
		"two charts, need":  {[]knownwater.Method{card, wide}, []knownwater.Need{low}, 6, 10.7},
		"meter alone":       {[]knownwater.Method{meter}, nil, 5, 30},
		"meter, need":       {[]knownwater.Method{meter}, []knownwater.Need{low}, 6, 10.7},
		"chart, meter":      {[]knownwater.Method{card, meter}, nil, 4, 30},
		"three, need":       {[]knownwater.Method{card, wide, meter}, []knownwater.Need{low}, 6, 10.7},
		"nothing is known":  {nil, nil, 0, 0},
		"drops, no range":   {[]knownwater.Method{{Name: "d", Kind: knownwater.Drops, DropValue: 2}}, []knownwater.Need{low}, 5, 10.7},
		"need without care": {nil, []knownwater.Need{{Name: "x", Low: 0, High: 5, Permitted: []knownwater.Permit{{At: 1, Error: 1}}}}, 4, 6.7},
	} {
		got := Levels(c.methods, c.needs)
		if got[0].Level != 0 {
			t.Errorf("%s: no blank", name)
		}
		if n := len(got) - 1; n < c.fewest || n > MostLevels {
			t.Errorf("%s: %d levels: %v", name, n, got)
		}
		for i, p := range got[1:] {
			if !(p.Level > got[i].Level) || p.Level > c.top || p.Why.Code == "" {
				t.Errorf("%s: %v after %v, top %g", name, p, got[i], c.top)
			}
			for _, m := range c.methods {
				if _, at := offSwatch(p.Level, m); at {
					t.Errorf("%s: %g lies on a swatch of %s: %v", name, p.Level, m.Name, got)
				}
			}
		}
	}
}

// Far from zero there is no blank and nothing near it: a need of 7.5 to 9 dKH wants
// levels around and inside it.
func TestLevelsFarFromZero(t *testing.T) {
	kh := knownwater.Need{Name: "hold it", Low: 7.5, High: 9, Permitted: []knownwater.Permit{{At: 7.5, Error: 0.5}}}
	for _, m := range []knownwater.Method{{Name: "d", Kind: knownwater.Drops, DropValue: 0.5}, {Name: "m", Kind: knownwater.Display, Resolution: 0.1}} {
		got := Levels([]knownwater.Method{m}, []knownwater.Need{kh})
		inside := 0
		for _, p := range got {
			if p.Level < 6 || p.Level > 10.5 {
				t.Errorf("%s: %g is of no use for %g to %g: %v", m.Name, p.Level, kh.Low, kh.High, got)
			}
			if p.Level >= kh.Low && p.Level <= kh.High {
				inside++
			}
		}
		if len(got) < 5 || inside < 2 || got[0].Level >= kh.Low || got[len(got)-1].Level <= kh.High {
			t.Errorf("%s: %v", m.Name, got)
		}
	}
}

// Where there is much to choose from as many levels as may be are proposed above the blank, and a display's highest is among a ladder's.
func TestLevelsAreFilledUp(t *testing.T) {
	if got := Levels([]knownwater.Method{card, wide, meter}, []knownwater.Need{low}); len(got) != MostLevels+1 {
		t.Errorf("%d levels of two charts, a display and a need: %v", len(got), got)
	}
	if got := Levels([]knownwater.Method{meter}, nil); got[len(got)-1].Level != 30 {
		t.Errorf("a display that reads to 30: %v", got)
	}
}

// How far levels go: a third above the needs, else to the top of a scale, of what is diluted by its factor; of needs far
// from nothing as far above them as they are wide, 9 + 1.5.
func TestHighest(t *testing.T) {
	diluted := func(m knownwater.Method) knownwater.Method { m.DilutionOver, m.DilutionFactor = 5, 8; return m }
	kh := knownwater.Need{Low: 7.5, High: 9}
	for _, x := range []struct {
		methods []knownwater.Method
		needs   []knownwater.Need
		want    float64
	}{
		{[]knownwater.Method{meter, card}, nil, 30}, {[]knownwater.Method{diluted(meter)}, nil, 240}, {[]knownwater.Method{diluted(card)}, nil, 80},
		{[]knownwater.Method{meter}, []knownwater.Need{low}, 32. / 3}, {[]knownwater.Method{meter}, []knownwater.Need{kh}, 10.5}, {nil, nil, 0},
	} {
		if got := highest(x.methods, x.needs); math.Abs(got-x.want) > 1e-12 {
			t.Errorf("%v, %v: up to %g, by hand %g", x.methods, x.needs, got, x.want)
		}
	}
}

// TestLevelsStandAroundTheNeed: half the permitted error to either side of each
// limit, moved by no more than a chart's "at" and the rounding may ask.
func TestLevelsStandAroundTheNeed(t *testing.T) {
	got := Levels([]knownwater.Method{meter}, []knownwater.Need{low})
	for _, want := range []float64{0.25, 0.75, 7.25, 8.75} {
		near := math.Inf(1)
		for _, p := range got {
			near = min(near, math.Abs(p.Level-want))
		}
		if near > 0.06 {
			t.Errorf("no level near %g: %v", want, got)
		}
	}
}

// TestLevelsAboveTheJoin: a method that dilutes gets at least three levels to
// judge the dilution by.
func TestLevelsAboveTheJoin(t *testing.T) {
	m := card
	m.DilutionOver, m.DilutionFactor = 5, 8
	for _, needs := range [][]knownwater.Need{{low}, nil} {
		n := 0
		got := Levels([]knownwater.Method{m}, needs)
		for _, p := range got {
			if p.Level > 5 {
				n++
			}
		}
		if n < 3 {
			t.Errorf("%d levels above the join: %v", n, got)
		}
	}
}

// A method that dilutes is tried on both sides of its join, so near that a trial can find it fit through
// the switch: within a third (assess.nearSwitch), whether it reads true or a tenth high or low.
func TestLevelsOnBothSidesOfAJoin(t *testing.T) {
	wide := knownwater.Need{Name: "wide", Low: 1, High: 40, Permitted: []knownwater.Permit{{At: 1, Error: 0.5}, {At: 40, Error: 10}}}
	for _, m := range []knownwater.Method{card, meter} {
		for _, join := range []float64{3, 5, 6, 12} {
			m.DilutionOver, m.DilutionFactor = join, 8
			below, above := 0.0, math.Inf(1)
			got := Levels([]knownwater.Method{m}, []knownwater.Need{wide})
			for _, p := range got {
				if p.Level <= join {
					below = max(below, p.Level)
				} else {
					above = min(above, p.Level)
				}
			}
			if below*4/3 < 1.1*join || above*3/4 > 0.9*join {
				t.Errorf("%s, join at %g: %g and %g stand next to it: %v", m.Name, join, below, above, got)
			}
		}
	}
}

func TestOffSwatch(t *testing.T) {
	for _, c := range []struct {
		v  float64
		to float64
		at bool
	}{
		{2.5, 2.275, true}, // 0.15 of the gap of 1.5 down
		{2.6, 2.875, true}, // 0.15 of the gap of 2.5 up
		{2.36, 2.275, true}, {2.35, 2.35, false}, {1.75, 1.75, false}, {3.75, 3.75, false}, {0.01, 0.01, false}, {20, 20, false},
	} {
		to, at := offSwatch(c.v, card)
		if !(math.Abs(to-c.to) <= 1e-12) || at != c.at {
			t.Errorf("%g: %g, %t; want %g, %t", c.v, to, at, c.to, c.at)
		}
	}
}

func TestBill(t *testing.T) {
	s := Supply{Left: 10, PackPrice: 18.5, PackTests: 50, RefillPrice: 12, RefillTests: 50}
	for _, c := range []struct {
		n    int
		want Bill
	}{{10, Bill{0, 0, 2.4}}, {11, Bill{1, 12, 2.64}}, {60, Bill{1, 12, 14.4}}, {61, Bill{2, 24, 14.64}}} {
		got := s.Bill(c.n)
		if got.Buy != c.want.Buy || got.Money != c.want.Money || !(math.Abs(got.Value-c.want.Value) <= 1e-9) {
			t.Errorf("%d tests: %v, want %v", c.n, got, c.want)
		}
	}
	if b := (Supply{Left: -1, PackPrice: 20, PackTests: 40}).Bill(41); b.Buy != 2 || b.Money != 40 {
		t.Errorf("supply unknown: %v", b)
	}
	if b := (Supply{}).Bill(5); !math.IsNaN(b.Money) {
		t.Errorf("no price known: %v", b)
	}
}
