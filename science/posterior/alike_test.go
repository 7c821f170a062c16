package posterior

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// crossedBy is a design of readers, sessions and vials with members numbered by numbers.
func crossedBy(numbers [3][]int) Data {
	d := Data{Groups: 3, Level: []float64{0.5, 2, 6}, Technique: make([]int, 3), OneVial: make([]bool, 3), MeanFloor: math.Inf(-1), MeanTop: math.Inf(1),
		Factors: []Factor{{Name: "reader", Members: 3, Scale: 1}, {Name: "session", Members: 2, Scale: 1}, {Name: "vial", Members: 12, Scale: 0.5, Nested: true}}}
	rng := rand.New(rand.NewPCG(3, 5))
	for g := range d.Groups {
		for vial := range 4 {
			for reader := range 3 {
				v := d.Level[g] + 0.1*float64(reader) + 0.15*rng.NormFloat64()
				v = math.Round(v*10) / 10
				d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{v - 0.05, v + 0.05}}, Count: 1,
					Member: []int{numbers[0][reader], numbers[1][vial%2], numbers[2][4*g+vial]}})
			}
		}
	}
	return d
}

// TestNumbersOfMembersChangeNothing: whoever is called what, every draw is the same, and
// each reader's effect stays the reader's own.
func TestNumbersOfMembersChangeNothing(t *testing.T) {
	numbers := func(seed uint64) (out [3][]int) {
		rng := rand.New(rand.NewPCG(seed, 1))
		for f, n := range []int{3, 2, 12} {
			out[f] = rng.Perm(n)
		}
		return out
	}
	first := numbers(1)
	want, err := Fit(crossedBy(first))
	if err != nil {
		t.Fatal(err)
	}
	for seed := range uint64(3) {
		other := numbers(seed + 2)
		d := crossedBy(other)
		rand.New(rand.NewPCG(seed, 9)).Shuffle(len(d.Cells), func(i, j int) { d.Cells[i], d.Cells[j] = d.Cells[j], d.Cells[i] })
		got, err := Fit(d)
		if err != nil {
			t.Fatal(err)
		}
		for g := range want.Wide.Mean {
			if !slices.Equal(got.Wide.Mean[g], want.Wide.Mean[g]) || !slices.Equal(got.Form.LogSD[g], want.Form.LogSD[g]) {
				t.Fatalf("seed %d: draws of group %d differ", seed, g)
			}
		}
		for reader := range 3 {
			if !slices.Equal(got.Wide.Effect[0][other[0][reader]], want.Wide.Effect[0][first[0][reader]]) {
				t.Errorf("seed %d: reader %d has another's effect", seed, reader)
			}
		}
	}
}

// TestAlikeMembersKeepTheirCompany: readers whose readings are the same numbers are told
// apart by whom they stand with.
func TestAlikeMembersKeepTheirCompany(t *testing.T) {
	pairs := func(reader, session [2]int) Data {
		d := Data{Groups: 1, Level: []float64{1}, Factors: []Factor{{Name: "reader", Members: 2}, {Name: "session", Members: 2}}}
		for i := range 2 {
			for _, v := range []float64{1, 1.2} {
				d.Cells = append(d.Cells, Cell{Group: 0, Seen: [][2]float64{{v, v}}, Count: 1, Member: []int{reader[i], session[i]}})
			}
		}
		d, _ = d.byReadings()
		slices.SortFunc(d.Cells, compareCells)
		return d
	}
	want := pairs([2]int{0, 1}, [2]int{0, 1})
	for _, got := range []Data{pairs([2]int{1, 0}, [2]int{0, 1}), pairs([2]int{0, 1}, [2]int{1, 0}), pairs([2]int{1, 0}, [2]int{1, 0})} {
		for i, c := range got.Cells {
			if !slices.Equal(c.Member, want.Cells[i].Member) {
				t.Errorf("cell %d stands with %v, not %v", i, c.Member, want.Cells[i].Member)
			}
		}
	}
}
