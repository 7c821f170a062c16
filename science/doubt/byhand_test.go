package doubt

import (
	"math"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/interval"
)

func about(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// Medians by weight: half the weight on either side, the average of two where it falls between.
func TestWeightedMedian(t *testing.T) {
	for _, x := range []struct {
		v, w []float64
		want float64
	}{
		{[]float64{3, 1, 2}, []float64{1, 1, 1}, 2}, {[]float64{1, 2, 3, 4}, []float64{1, 1, 1, 1}, 2.5}, {[]float64{1, 2, 9}, []float64{1, 1, 5}, 9},
		{[]float64{9, 1, 2}, []float64{2, 1, 1}, 5.5}, {[]float64{4}, []float64{0.1}, 4},
	} {
		about(t, "median", weightedMedian(x.v, x.w), x.want, 0)
	}
	if !math.IsNaN(median(nil)) {
		t.Error("a median of nothing")
	}
}

// The robust line through a line and one level far off it is the line (P. K. Sen, J. Am.
// Stat. Assoc. 63 (1968) 1379); one that falls is none.
func TestRobustLine(t *testing.T) {
	var levels []seenLevel
	for _, c := range []float64{0, 1, 2, 4, 8, 16} {
		levels = append(levels, seenLevel{c: c, centre: 0.5 + 1.2*c})
	}
	levels[3].centre = 40
	l, ok := theil(levels)
	if !ok {
		t.Fatal("no line")
	}
	about(t, "slope", l.b, 1.2, 1e-12)
	about(t, "beginning", l.a, 0.5, 1e-12)
	about(t, "on it", l.at(10), 12.5, 1e-12)
	for i := range levels {
		levels[i].centre = 10 - levels[i].c
	}
	if _, ok := theil(levels); ok {
		t.Error("a line that falls")
	}
	if _, ok := theil(levels[:1]); ok {
		t.Error("a line through one level")
	}
	about(t, "away below", away(interval.Interval{Low: 2, High: 3}, 1.5), 0.5, 0)
	about(t, "away above", away(interval.Interval{Low: 2, High: 3}, 4.5), 1.5, 0)
	about(t, "inside", away(interval.Interval{Low: 2, High: 3}, 2.5), 0, 0)
}

// The middle of a level's readings is that of the rest: without those that are left out, those that
// are explained already, and those without a middle, each as often as it was read.
func TestMiddleOfTheRest(t *testing.T) {
	s := &Sight{levels: []seenLevel{{rows: []int{0, 1, 2, 3, 4}}}, taken: map[int]bool{3: true}}
	for _, y := range []float64{1, 2, 50, 60, math.NaN()} {
		s.rows = append(s.rows, row{o: knownwater.Observation{Count: 1}, y: y})
	}
	if m := s.middleOf(0, []int{2}); m.n != 2 || m.at != 1.5 || m.gap != 1 {
		t.Errorf("of 1 and 2: %+v", *m)
	}
	s.rows[1].o.Count = 3
	if d := s.pairs(0, 2); !slices.Equal(d, []float64{1, 1, 0, 1, 0, 0}) {
		t.Errorf("pairs of 1, 2, 2 and 2: %v", d)
	}
	if m := s.middleOf(0, nil); m.n != 5 || m.at != 2 || m.gap != 0 {
		t.Errorf("of 1, 2, 2, 2 and 50: %+v", *m)
	}
}

// A level of very many rows is judged as a whole, and a slip in it is named like any other; below four floors of
// scatter no row is held against another unit.
func TestSlipAmongVeryMany(t *testing.T) {
	levels := map[float64][]float64{5: {5, 5.1, 4.9}, 10: nil, 20: {20, 20.2, 19.8}, 40: {40, 40.3, 39.7}}
	for i := range manyRows + 50 {
		levels[10] = append(levels[10], 10+0.1*float64(i%5-2))
	}
	levels[10] = append(levels[10], 25)
	kinds := func() (out []string) {
		s := Sights(knownwater.Trial{}.Scale, []Readings{{Method: display(), Obs: shows(levels)}})[0]
		for _, q := range s.Ask(func(Question) bool { return false }) {
			for _, p := range q.At {
				out = append(out, q.Kind+" "+p.Reading)
			}
		}
		return out
	}
	if got := kinds(); !slices.Equal(got, []string{"slip 25"}) {
		t.Errorf("asked %v", got)
	}
	levels[10] = levels[10][:manyRows]
	if got := kinds(); got != nil {
		t.Errorf("without it asked %v", got)
	}
}

// Of one level alone its pairs tell the scatter; of several the lower ones the floor, the upper ones the share.
func TestScatterByHand(t *testing.T) {
	s := lookOf(display(), shows(map[float64][]float64{10: {10, 10.4, 10.2}}))
	about(t, "floor of one", s.floor, perPair*0.2, 1e-9)
	about(t, "share of one", s.share, leastShare, 0)
	s = lookOf(display(), shows(map[float64][]float64{1: {1, 1.4, 1.2}, 10: {10, 14, 12}}))
	about(t, "floor", s.floor, perPair*0.2, 1e-9)
	about(t, "share", s.share, perPair*2/12, 1e-9)
}

// A signal has no unit: of its rows nothing but a dilution is asked.
func TestSignalsHaveNoUnit(t *testing.T) {
	m := knownwater.Method{Name: "M", Kind: knownwater.Absorbance, Resolution: 0.001, DilutionFactor: 8}
	if ways := lookOf(m, shows(map[float64][]float64{1: {1}, 5: {5}})).rowWays(); len(ways) != 2 || ways[0].dilution != 8 || ways[1].dilution != 8 {
		t.Errorf("%+v", ways)
	}
	if ways := lookOf(display(), shows(map[float64][]float64{1: {1}, 5: {5}})).rowWays(); len(ways) < 4 {
		t.Errorf("of a display: %+v", ways)
	}
}
