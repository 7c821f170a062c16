package doubt

import (
	"fmt"
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
	// weights and all, worked out apart from the program by the formula beside it
	uneven := []seenLevel{{c: 1, centre: 1.4}, {c: 2, centre: 2.8}, {c: 10, centre: 11.8}, {c: 15, centre: 17.6}, {c: 40, centre: 38.2}}
	if l, ok = theil(uneven); !ok {
		t.Fatal("no line")
	}
	about(t, "uneven slope", l.b, 0.9435897435897437, 1e-12)
	about(t, "uneven beginning", l.a, 0.9128205128205125, 1e-12)
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

// The scatter at a known, one of its readings left out, worked out apart from the program by the words beside it: 0.3145 and 0.1325
// of what is read for all; beside that the knowns within two of it, and the known's own six pairs where it has them; half
// the widest step at least.
func TestScatterAtEachKnown(t *testing.T) {
	obs := shows(map[float64][]float64{1: {1, 1.2, 1.4, 1.6}, 2: {2, 2.2, 2.4, 2.6}, 5: {4, 5, 6, 7, 8}, 10: {10, 10.4, 10.8, 11.2}, 20: {20, 21, 22, 23}})
	s := lookOf(display(), obs)
	about(t, "of all, at nothing", s.floor, 0.31449, 1e-9)
	about(t, "of all, as a share", s.share, 0.13247494515138214, 1e-9)
	for i, x := range []struct {
		sd    float64
		pairs int
	}{{0.3585565546004372, 19}, {0.43788286422425626, 25}, {1.57245, 30}, {1.4390198964899485, 25}, {2.8655211895526658, 19}} {
		sd, pairs := s.scatterOf(s.levels[i].centre, i, s.levels[i].rows[0])
		about(t, fmt.Sprint("at ", s.levels[i].c), sd, x.sd, 1e-9)
		about(t, fmt.Sprint("pairs about ", s.levels[i].c), float64(pairs), float64(x.pairs), 0)
	}
	obs[len(obs)-1].Seen = interval.Interval{Low: 20, High: 28}
	s = lookOf(display(), obs)
	about(t, "half a wide step", s.scatter(21, 4, s.levels[4].rows[0]), 4, 0)
	obs[len(obs)-1].Seen = interval.Above(20)
	s = lookOf(display(), obs)
	if sd := s.scatter(21, 4, s.levels[4].rows[0]); !(sd < 4) {
		t.Errorf("beside one that is open: %g", sd)
	}
}

// Of a level of very many readings 40 are compared, and of very many levels 60 bear lines: the first, the last and evenly between.
func TestOfVeryMany(t *testing.T) {
	levels := map[float64][]float64{}
	for i := range 121 {
		levels[float64(i+1)] = []float64{float64(i + 1)}
		levels[200] = append(levels[200], float64(180+i))
	}
	s := lookOf(display(), shows(levels))
	if n := len(s.chosen); n != mostInLine || s.chosen[0] != 0 || s.chosen[30] != 61 || s.chosen[n-1] != 121 {
		t.Errorf("lines through %v", s.chosen)
	}
	d := s.pairs(121, -1)
	about(t, "pairs", float64(len(d)), 780, 0)
	about(t, "the first and the last", slices.Max(d), 120, 1e-9)
	about(t, "median of every third", median(d), 35, 2.5) // of evenly spread values 1 − √½ of all: 35.1
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

// Signals of diluted samples are not those of their knowns: no line through them says what one should be. Beside its own like a
// row of another dilution is told.
func TestSignalsOfDilutedSamples(t *testing.T) {
	m := knownwater.Method{Name: "M", Kind: knownwater.Absorbance, Resolution: 0.001, DilutionFactor: 8}
	obs := shows(map[float64][]float64{1: {10, 10.4}, 2: {20, 20.5}, 5: {50, 51}, 10: {100, 102}, 40: {50, 51, 52, 50.5}, 80: {100, 101, 102}})
	for i := range obs {
		if obs[i].Level >= 40 {
			obs[i].Dilution = 8
		}
	}
	if got := keysOf(m, obs); got != nil {
		t.Errorf("asked %q", got)
	}
	for i := range obs {
		if obs[i].Text == "51" && obs[i].Level == 40 {
			obs[i].Text, obs[i].Seen = "400", interval.Interval{Low: 399.5, High: 400.5}
		}
	}
	if got := keysOf(m, obs); !slices.Equal(got, []string{"dilution: M: 400 at 40"}) {
		t.Errorf("asked %q", got)
	}
	// nor of two vials that may be swapped
	singles := shows(map[float64][]float64{1: {10}, 2: {20}, 5: {100}, 10: {50}, 20: {200}, 40: {400}, 80: {800}})
	if got := keysOf(m, singles); got != nil {
		t.Errorf("of single signals asked %q", got)
	}
	if got := keysOf(display(), singles); len(got) != 1 || got[0][:4] != "swap" {
		t.Errorf("of a display asked %q", got)
	}
}
