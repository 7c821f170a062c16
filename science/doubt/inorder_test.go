package doubt

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// The rank correlation is R's cor(t, x, method = "spearman"): of t = 1:8 and the first levels 0.9047619 (by hand:
// 1 − 6·8/504). Level by level is told, up and down again is not, nor are two levels or one known a day.
func TestInOrder(t *testing.T) {
	at := func(levels ...float64) (s []Moment) {
		for i, c := range levels {
			s = append(s, Moment{Level: c, At: int64(60 * i)})
		}
		return s
	}
	vials := func(s []Moment) []Moment { // by one more reader: the same vials in the same order
		for i := range s {
			s[i].Vial = fmt.Sprint(i)
		}
		return s
	}
	six, eight := func() []Moment { return vials(at(0, 1, 2, 5, 10, 20)) }, func() []Moment { return vials(at(0, 1, 2, 3, 5, 8, 10, 20)) }
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
		{"five readings", [][]Moment{at(0, 1, 2, 5, 10)}, 1, false},
		{"six readings", [][]Moment{at(0, 1, 2, 5, 10, 20)}, 1, true},
		{"six vials by three readers", [][]Moment{six(), six(), six()}, 1, false}, // one order of six, not of eighteen
		{"eight vials by three readers", [][]Moment{eight(), eight(), eight()}, 1, true},
		{"at 0.8", [][]Moment{at(1, 2, 3, 4, 5, 6, 0, 8, 7, 9, 10)}, 1 - 6*44.0/(11*120), true},
		{"just below", [][]Moment{at(1, 2, 3, 4, 5, 6, 0, 8, 7, 10, 9)}, 1 - 6*46.0/(11*120), false},
		{"all at once", [][]Moment{{{Level: 0, At: 7}, {Level: 2, At: 7}, {Level: 5, At: 7}, {Level: 9, At: 7}, {Level: 10, At: 7}, {Level: 12, At: 7}}}, 0, false},
		{"nothing", nil, 0, false},
	} {
		rho, _ := along(c.sittings)
		told := InOrder(c.sittings)
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
			s = append(s, Moment{Level: c, At: int64(i), Vial: fmt.Sprint(i)})
		}
		sittings := [][]Moment{s}
		if run%3 == 0 { // somebody else reads the same vials
			sittings = append(sittings, s)
		}
		if InOrder(sittings) {
			told++
		}
	}
	if told > trials*12/1000 {
		t.Errorf("%d of %d orders by chance are told", told, trials)
	}
}
