package doubt

import (
	"math"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// lookOf is a look at one method's readings, each a step of 0.1 wide, all at one dilution.
func lookOf(m knownwater.Method, obs []knownwater.Observation) *Sight {
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	s := Sights(scale, []Readings{{Method: m, Obs: obs}})[0]
	s.look()
	return s
}

// The slope and its standard error, worked out apart from the program by the formula of its comment, with the standard
// library of another language; a blank that nobody tested helps where fewer than four knowns were.
func TestSlopeByHand(t *testing.T) {
	for _, x := range []struct {
		c, y  []float64
		b, se float64
	}{
		{[]float64{0, 5, 10, 20}, []float64{0.6, 8, 12.3, 21}, 1.02, 0.06730134227782326},
		{[]float64{5, 10, 20}, []float64{8, 12.3, 21}, 1.05, 0.06921533770430013},
		{[]float64{5, 10, 20, 40}, []float64{8, 12.3, 21, 60}, 1.4857142857142858, 0.10554899925475077},
		{[]float64{10}, []float64{12}, 1.2, 0.10099504938362078},
	} {
		levels := map[float64][]float64{}
		for i, c := range x.c {
			levels[c] = []float64{x.y[i]}
		}
		b, se, ok := lookOf(display(), shows(levels)).slope()
		if !ok {
			t.Errorf("%v: none", x.c)
		}
		about(t, "slope", b, x.b, 1e-9)
		about(t, "its standard error", se, x.se, 1e-9)
	}
	if _, _, ok := lookOf(display(), shows(map[float64][]float64{1: {9}, 5: {5}, 9: {1}, 12: {0}})).slope(); ok {
		t.Error("of readings that fall")
	}
}

// A factor that is no more than a bias is none; µmol/L are as many in every basis, but of another unit.
func TestFactorsThatCount(t *testing.T) {
	mg, _ := unit.Parse("nitrate", "mg/L", "NO3")
	mol, _ := unit.Parse("nitrate", "umol/L", "NO3")
	var list []explanation
	for _, e := range []explanation{{factor: 1.5, scale: mol}, {factor: 1 / 1.5, scale: mol}, {factor: 8, scale: mol}, {factor: 8 * (1 + 1e-7), scale: mol}, {factor: 8.1, scale: mol}, {factor: 8, scale: mg}} {
		list = addFactor(list, e)
	}
	if len(list) != 3 || list[0].factor != 8 || list[1].factor != 8.1 || list[2].scale != mg {
		t.Errorf("%+v", list)
	}
	if n, all := len(scalesBeside(mg)), len(scalesBeside(unit.Scale{Analyte: "something", Unit: "mg/L"})); n == 0 || all <= n {
		t.Errorf("%d ways of nitrate, %d of what nobody named", n, all)
	}
}

// Ways that would explain a ratio of 2 stand nearest first, what they take for granted besides counting as a distance of
// 0.15 each; those that leave more than e^0.3 are none, and no more than six are listed.
func TestWaysInTheirOrder(t *testing.T) {
	mol, _ := unit.Parse("nitrate", "umol/L", "NO3")
	want := []explanation{
		{factor: 1.9, dilution: 1 / 1.9, forgot: true},                     // 0.051
		{factor: 2.2, scale: mol},                                          // 0.095
		{factor: 2, dilution: 2},                                           // 0.15
		{factor: 2.4, scale: mol},                                          // 0.182
		{factor: 2.2, scale: mol, knowns: true},                            // 0.245
		{factor: 2.05, scale: mol, knowns: true, dilution: 8},              // 0.475
		{factor: 2.1, scale: mol, knowns: true, dilution: 8},               // 0.499
		{factor: 2.8, scale: mol},                                          // 0.336 away
		{factor: 1.4, scale: mol},                                          // 0.357 away
		{factor: 1.8, scale: mol, dilution: 8, forgot: true, knowns: true}, // 0.405
	}
	ways := slices.Clone(want)
	slices.Reverse(ways)
	want = append(want[:5:5], want[9])
	if got := explain(2, ways); !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
	if got := alsoFor(want[2], 2, ways); len(got) != 6 || got[0] != want[2] || got[1] != want[0] || got[2] != want[1] || got[3] != want[3] {
		t.Errorf("of rows that were found by the third: %+v", got)
	}
}

// Readings in another unit that were not multiplied either are told so, all that it takes in one.
func TestTwoMistakesAtOnce(t *testing.T) {
	mol, _ := unit.Parse("nitrate", "umol/L", "NO3")
	levels := map[float64][]float64{}
	for _, c := range []float64{5, 10, 20, 40} {
		levels[c] = five(c*umolPerMg/8, 0.05)
	}
	qs := lookOf(diluting(8), shows(levels)).Ask(func(Question) bool { return false })
	if len(qs) != 1 || qs[0].Kind != OfUnit || len(qs[0].At) != 20 {
		t.Fatalf("asked %+v", qs)
	}
	var codes []string
	for _, p := range qs[0].Says.Because[0].Because {
		codes = append(codes, p.Code)
	}
	if !slices.Equal(codes, []string{"readings-in-unit", "not-multiplied"}) || qs[0].Says.Because[0].Because[0].Names["unit"][0] != mol.String() {
		t.Errorf("first %+v", qs[0].Says.Because[0])
	}
}

// umolPerMg is how many µmol/L are 1 mg/L NO3, of 62.004 g/mol (by hand).
const umolPerMg = 1000 / 62.004

// The dilutions of a method are its sheet's and those of the table, each once; 1 is none.
func TestDilutionsOfAMethod(t *testing.T) {
	m := display()
	m.DilutionFactor = 8
	obs := shows(map[float64][]float64{1: {1}, 40: {5, 5.2, 5.1, 4.9}})
	for i, d := range []float64{1, 8, 4, 4, 1} {
		obs[i].Dilution = d
	}
	if ds := lookOf(m, obs).dilutions(); len(ds) != 2 || ds[0] != 4 || ds[1] != 8 {
		t.Errorf("%v", ds)
	}
	m.DilutionFactor = 0
	if ds := lookOf(m, obs[:2]).dilutions(); len(ds) != 1 {
		t.Errorf("%v", ds)
	}
}

// What a trial becomes as each explanation has it, by hand: the readings or the knowns, of all rows or of some, of
// this method in this water alone.
func TestTakenBack(t *testing.T) {
	m := display()
	m.Range = &interval.Interval{Low: 0, High: 60}
	obs := shows(map[float64][]float64{10: {10}, 20: {20}})
	obs[1].ULevel, obs[1].UShared, obs[1].UBackground = 0.2, 0.1, 0.05
	obs[1].Dilution = 8
	for i := range obs {
		obs[i].Row = i + 2
	}
	other := obs[0]
	other.Matrix = "tank"
	trial := knownwater.Trial{Methods: []knownwater.Method{m, {Name: "N", Kind: knownwater.Display, Range: m.Range}}, Observations: append(obs[:2:2], other)}
	mol, _ := unit.Parse("nitrate", "umol/L", "NO3")
	s := lookOf(m, obs)
	for _, x := range []struct {
		name     string
		e        explanation
		rows     []int
		seen     [2]float64 // what is seen is multiplied by
		known    [2]float64 // the knowns are
		dilution float64    // of the first row
		top      float64    // of the method's range
	}{
		{"readings in another unit", explanation{factor: 16, scale: mol}, nil, [2]float64{1. / 16, 1. / 16}, [2]float64{1, 1}, 1, 60. / 16},
		{"one of them", explanation{factor: 16, scale: mol}, []int{0}, [2]float64{1. / 16, 1}, [2]float64{1, 1}, 1, 60},
		{"knowns in another unit", explanation{factor: 1. / 16, scale: mol, knowns: true}, nil, [2]float64{1, 1}, [2]float64{1. / 16, 1. / 16}, 1, 60},
		{"a known of one", explanation{factor: 1. / 16, scale: mol, knowns: true}, []int{1}, [2]float64{1, 1}, [2]float64{1, 1. / 16}, 1, 60},
		{"knowns in another unit, and not multiplied", explanation{factor: 1. / 128, scale: mol, knowns: true, dilution: 8, forgot: true}, []int{0, 1}, [2]float64{8, 8}, [2]float64{1. / 16, 1. / 16}, 1, 60},
		{"knowns in another unit, and multiplied twice", explanation{factor: 8. / 16, scale: mol, knowns: true, dilution: 8}, []int{0, 1}, [2]float64{1. / 8, 1. / 8}, [2]float64{1. / 16, 1. / 16}, 1, 60},
		{"not multiplied, all", explanation{factor: 1. / 8, dilution: 8, forgot: true}, nil, [2]float64{8, 8}, [2]float64{1, 1}, 1, 480},
		{"not multiplied: noted as diluted, or the reading", explanation{factor: 1. / 8, dilution: 8, forgot: true}, []int{0, 1}, [2]float64{1, 8}, [2]float64{1, 1}, 8, 60},
		{"multiplied already", explanation{factor: 8, dilution: 8}, []int{1}, [2]float64{1, 1. / 8}, [2]float64{1, 1}, 1, 60},
	} {
		got := s.undo(x.e, x.rows)(trial)
		for i, o := range got.Observations {
			was, seen, known, dilution := trial.Observations[i], 1.0, 1.0, 0.0
			if i < 2 {
				seen, known = x.seen[i], x.known[i]
			}
			if dilution = was.Dilution; i == 0 {
				dilution = x.dilution
			}
			near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Abs(b) }
			if !near(o.Seen.High, was.Seen.High*seen) || !near(o.Seen.Low, was.Seen.Low*seen) || !near(o.Level, was.Level*known) ||
				!near(o.ULevel, was.ULevel*known) || !near(o.UShared, was.UShared*known) || !near(o.UBackground, was.UBackground*known) || o.Dilution != dilution {
				t.Errorf("%s: reading %d became %+v", x.name, i, o)
			}
		}
		if top := got.Methods[0].Range.High; math.Abs(top-x.top) > 1e-9 || got.Methods[1].Range.High != 60 || trial.Methods[0].Range.High != 60 {
			t.Errorf("%s: ranges end at %g and %g", x.name, top, got.Methods[1].Range.High)
		}
	}
}

// What an explanation is about, and the words for what it takes for granted.
func TestExplanations(t *testing.T) {
	mg, _ := unit.Parse("nitrate", "mg/L", "NO3")
	n, _ := unit.Parse("nitrate", "mg/L", "N")
	mol, _ := unit.Parse("nitrate", "umol/L", "NO3")
	for _, x := range []struct {
		e     explanation
		kind  string
		codes []string
	}{
		{explanation{scale: mol}, OfUnit, []string{"readings-in-unit"}},
		{explanation{scale: mol, knowns: true}, OfUnit, []string{"knowns-in-unit"}},
		{explanation{scale: n}, OfBasis, []string{"readings-in-unit"}},
		{explanation{dilution: 8, forgot: true}, OfDilution, []string{"not-multiplied"}},
		{explanation{dilution: 8}, OfDilution, []string{"multiplied-too-often"}},
		{explanation{scale: mol, dilution: 8, forgot: true}, OfUnit, []string{"readings-in-unit", "not-multiplied"}},
	} {
		said := x.e.note()
		parts := []note.Note{said}
		if len(x.codes) > 1 {
			parts = said.Because
		}
		if x.e.kind(mg) != x.kind || len(parts) != len(x.codes) {
			t.Errorf("%+v: %s, %+v", x.e, x.e.kind(mg), said)
			continue
		}
		for i, p := range parts {
			if p.Code != x.codes[i] {
				t.Errorf("%+v: %s, want %s", x.e, p.Code, x.codes[i])
			}
		}
	}
}
