package doubt

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/interval"
)

// shows are readings of a display with steps of 0.1, by level; an infinite one is open at that end, by its other end.
func shows(levels map[float64][]float64) (obs []knownwater.Observation) {
	for level, all := range levels {
		for _, v := range all {
			obs = append(obs, knownwater.Observation{Method: "M", Level: level, Text: fmt.Sprint(v), Seen: interval.Interval{Low: v - 0.05, High: v + 0.05}, Dilution: 1, Count: 1})
		}
	}
	slices.SortStableFunc(obs, func(a, b knownwater.Observation) int { return int(math.Copysign(1, a.Level-b.Level)) })
	return obs
}

func display() knownwater.Method {
	return knownwater.Method{Name: "M", Kind: knownwater.Display, Resolution: 0.1}
}

// askedOf are the kinds of what is asked about a display's range.
func askedOf(m knownwater.Method, obs []knownwater.Observation) (codes []string) {
	s := Sights(knownwater.Trial{}.Scale, []Readings{{Method: m, Obs: obs}})[0]
	s.look()
	for _, q := range s.askRange() {
		codes = append(codes, q.Says.Code)
	}
	return codes
}

// A display that shows 0 beside more at one known, and less at none, is doubted or asked about.
func TestZerosBesideMore(t *testing.T) {
	half := interval.Interval{Low: 0, High: math.Inf(1)}
	for _, x := range []struct {
		name    string
		at0     []float64
		ranged  *interval.Interval
		doubted bool
		asked   bool
	}{
		{"zeros beside more", []float64{0, 0.2, 0}, nil, true, false},
		{"zeros beside much more", []float64{0, 0.3, 0}, nil, false, true},
		{"one zero", []float64{0, 0.3, 0.4}, nil, true, false},
		{"no more zeros than others", []float64{0, 0.3, 0, 0.4}, nil, true, false},
		{"all zero", []float64{0, 0, 0}, nil, false, false},
		{"never zero", []float64{0.1, 0.2, 0.1}, nil, false, false},
		{"less than nothing", []float64{0, 0.3, 0, 0, -0.1}, nil, false, false},
		{"its range is known", []float64{0, 0.3, 0}, &half, false, false},
		{"no end below is known", []float64{0, 0.3, 0}, &interval.Interval{Low: math.Inf(-1), High: 60}, false, true},
	} {
		m := display()
		m.Range = x.ranged
		obs := shows(map[float64][]float64{0: x.at0, 5: {4.9, 5.1, 5}})
		if known, got := NeverBelow(m, obs); got != x.doubted || known != 0 {
			t.Errorf("%s: doubted %v at %g, want %v", x.name, got, known, x.doubted)
		}
		if got := slices.Contains(askedOf(m, obs), "ask-ends-below"); got != x.asked {
			t.Errorf("%s: asked %v, want %v", x.name, got, x.asked)
		}
		obs[0].Seen = interval.Below(obs[0].Seen.High) // an end that was read as one
		if _, got := NeverBelow(m, obs); got || slices.Contains(askedOf(m, obs), "ask-ends-below") {
			t.Errorf("%s: asked though the end was seen", x.name)
		}
	}
	m := display()
	m.Kind = knownwater.Drops
	if _, got := NeverBelow(m, shows(map[float64][]float64{0: {0, 0.2, 0}})); got {
		t.Error("a drop count is doubted")
	}
}

// A display that shows one number at its highest knowns, and scatters below, is asked whether it ends there.
func TestOneNumberAtTheTop(t *testing.T) {
	same := func(v float64, n int) []float64 { return slices.Repeat([]float64{v}, n) }
	for _, x := range []struct {
		name        string
		at2, at20   []float64
		at40, at50  []float64
		ranged      *interval.Interval
		asked       bool
		from, shown float64
	}{
		{name: "at two knowns", at2: []float64{1.9, 2.2}, at20: []float64{19.1, 20.4}, at40: same(30, 2), at50: same(30, 1), asked: true, from: 40, shown: 30},
		{name: "at one, three times", at2: []float64{1.9, 2.2}, at20: []float64{19.1, 20.4}, at50: same(30, 3), asked: true, from: 50, shown: 30},
		{name: "at one, twice", at2: []float64{1.9, 2.2}, at20: []float64{19.1, 20.4}, at50: same(30, 2)},
		{name: "at one, twice, after many that differ", at2: []float64{1.9, 2.2, 2, 2.1}, at20: []float64{19.1, 20.4, 19.8, 20.1}, at50: same(30, 2), asked: true, from: 50, shown: 30},
		{name: "it repeats itself", at2: []float64{1.9, 2.2}, at20: same(20, 2), at50: same(30, 3)},
		{name: "once more", at2: []float64{1.9, 2.2}, at20: []float64{19.1, 20.4}, at40: same(30, 2), at50: []float64{30.1}},
		{name: "its range is known", at2: []float64{1.9, 2.2}, at20: []float64{19.1, 20.4}, at40: same(30, 2), at50: same(30, 1), ranged: &interval.Interval{Low: 0, High: 30}},
		{name: "no end above is known", at2: []float64{1.9, 2.2}, at20: []float64{19.1, 20.4}, at40: same(30, 2), at50: same(30, 1), ranged: &interval.Interval{Low: 0, High: math.Inf(1)}, asked: true, from: 40, shown: 30},
		{name: "what the others lead to", at2: []float64{1.9, 2.2}, at20: []float64{12.1, 12.4}, at50: same(30, 3)},
		{name: "a twentieth below what one known leads to", at20: []float64{19, 19.6, 20.2}, at50: same(46, 3), asked: true, from: 50, shown: 46},
		{name: "just a twentieth below, and a step", at20: []float64{19, 19.6, 20.2}, at50: same(46.4, 3), asked: true, from: 50, shown: 46.4},
		{name: "a step less", at20: []float64{19, 19.6, 20.2}, at50: same(46.5, 3)},
		// 2 and 19 lead to 47.33 at 50, a twentieth below which is 44.97
		{name: "just a twentieth below what two lead to", at2: []float64{1.9, 2.1}, at20: []float64{18, 20}, at50: same(44.8, 5), asked: true, from: 50, shown: 44.8},
		{name: "a step less than two lead to", at2: []float64{1.9, 2.1}, at20: []float64{18, 20}, at50: same(44.9, 5)},
		{name: "two pairs alike of ten", at20: []float64{19.1, 19.1, 19.8, 20.4, 20.4}, at50: same(30, 3), asked: true, from: 50, shown: 30},
		{name: "three of ten", at20: []float64{19.1, 19.1, 19.1, 19.8, 20.4}, at50: same(30, 3)},
		{name: "no more than a twentieth below", at20: []float64{19, 19.6, 20.2}, at50: same(47, 3)},
		{name: "nothing below tells", at50: same(30, 3)},
	} {
		m := display()
		m.Range = x.ranged
		levels := map[float64][]float64{}
		for level, v := range map[float64][]float64{2: x.at2, 20: x.at20, 40: x.at40, 50: x.at50} {
			if v != nil {
				levels[level] = v
			}
		}
		obs := shows(levels)
		if got := slices.Contains(askedOf(m, obs), "ask-ends-above"); got != x.asked {
			t.Errorf("%s: asked %v, want %v", x.name, got, x.asked)
		}
		if !x.asked {
			continue
		}
		s := Sights(knownwater.Trial{}.Scale, []Readings{{Method: m, Obs: obs}})[0]
		s.look()
		q := s.askRange()[0]
		if n := q.Says.Numbers; float64(n["level"][0]) != x.from || math.Abs(float64(n["shown"][0])-x.shown) > 1e-9 {
			t.Errorf("%s: %v, want from %g on", x.name, q.Says.Numbers, x.from)
		}
		obs[0].Seen = interval.Above(obs[0].Seen.Low)
		if slices.Contains(askedOf(m, obs), "ask-ends-above") {
			t.Errorf("%s: asked though the end was seen", x.name)
		}
	}
}

// What a display ought to show is the known over the dilution: diluted samples come to its end by what it shows of them.
func TestOneNumberOfDilutedSamples(t *testing.T) {
	obs := shows(map[float64][]float64{2: {1.9, 2.2}, 5: {4.9, 5.2}, 20: {8, 8}, 48: {8}})
	obs[len(obs)-1].Dilution = 4 // 12
	s := lookOf(display(), obs)
	if qs := s.askRange(); len(qs) != 1 || float64(qs[0].Says.Numbers["level"][0]) != 48 || len(qs[0].At) != 3 {
		t.Errorf("asked %+v, want from 12 on, of 48 diluted", qs)
	}
	open := append([]knownwater.Observation{{Method: "M", Level: 4, Text: "<1", Seen: interval.Below(1), Dilution: 1, Count: 1}}, obs[2:]...)
	if qs := lookOf(display(), open).askRange(); len(qs) != 1 || qs[0].Says.Code != "ask-ends-above" {
		t.Errorf("beside a reading that is open below: asked %+v", qs)
	}
	obs[len(obs)-1].Dilution = 16 // 3: shown more than 5 is
	if qs := lookOf(display(), obs).askRange(); len(qs) != 0 {
		t.Errorf("asked %+v", qs)
	}
}

// With an end the method has it and the readings there are open, beside an end that was stated; other methods' are as they were.
func TestTrialWithAnEnd(t *testing.T) {
	m := display()
	m.Range = &interval.Interval{Low: 0, High: math.Inf(1)}
	obs := shows(map[float64][]float64{2: {1.9, 2.2}, 20: {19.1, 20.4}, 40: {30, 30}, 50: {30}})
	other := obs[len(obs)-1]
	other.Method = "N"
	trial := knownwater.Trial{Methods: []knownwater.Method{m, {Name: "N"}}, Observations: append(slices.Clone(obs), other)}
	s := Sights(trial.Scale, []Readings{{Method: m, Obs: obs}})[0]
	s.look()
	q := s.askRange()[0]
	got := q.Mends[0](trial)
	if r := got.Methods[0].Range; r.Low != 0 || r.High != 30 || got.Methods[1].Range != nil || trial.Methods[0].Range.High == 30 {
		t.Errorf("ranges %v and %v", got.Methods[0].Range, got.Methods[1].Range)
	}
	for i, o := range got.Observations {
		if open := o.Method == "M" && o.Level >= 40; o.Seen.OpenAbove() != open || o.Seen.Low != trial.Observations[i].Seen.Low || o.Seen.OpenBelow() {
			t.Errorf("%s at %g: %v", o.Text, o.Level, o.Seen)
		}
	}
	if len(q.At) != 3 || len(s.middlesAt(3, nil)) != 0 {
		t.Errorf("about %d readings; other questions see %v", len(q.At), s.middlesAt(3, nil))
	}
	low := shows(map[float64][]float64{0: {0, 0.3, 0}, 5: {4.9, 5.1, 5}})
	s = Sights(trial.Scale, []Readings{{Method: display(), Obs: low}})[0]
	s.look()
	got = s.askRange()[0].Mends[0](knownwater.Trial{Methods: []knownwater.Method{display()}, Observations: low})
	for _, o := range got.Observations {
		if open := o.Text == "0"; o.Seen.OpenBelow() != open || o.Seen.OpenAbove() {
			t.Errorf("%s at %g: %v", o.Text, o.Level, o.Seen)
		}
	}
}
