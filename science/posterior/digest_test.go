package posterior

import (
	"math"
	"testing"
)

// Whatever a fit depends on changes the name of its data, by a last bit too; alike data have one name.
func TestDigestTellsDataApart(t *testing.T) {
	data := func() Data {
		return Data{Groups: 2, Level: []float64{1, 2}, Technique: []int{0, 0}, OneVial: []bool{false, true}, MeanFloor: 0, MeanTop: math.Inf(1), Shares: []float64{0.5, 0.5},
			Factors: []Factor{{Name: "reader", Members: 2, Scale: 1, Along: [][]float64{nil, {1, 1}}}},
			Cells:   []Cell{{Group: 0, Seen: [][2]float64{{1, 2}, {1.1, 2.1}}, Member: []int{0}, Count: 1}, {Group: 1, Seen: [][2]float64{{2, math.Inf(1)}, {2.1, 3}}, Member: []int{None}, Count: 2}}}
	}
	if one, other := data().Digest(), data().Digest(); one != other {
		t.Fatal("alike data have two names")
	}
	seen := map[[32]byte]int{data().Digest(): -1}
	for i, change := range []func(*Data){
		func(d *Data) { d.Groups = 3 },
		func(d *Data) { d.Level[1] = math.Nextafter(2, 3) },
		func(d *Data) { d.Technique[1] = 1 },
		func(d *Data) { d.OneVial[0] = true },
		func(d *Data) { d.Factors[0].Members = 3 },
		func(d *Data) { d.Factors[0].Scale = 0.5 },
		func(d *Data) { d.Factors[0].Nested = true },
		func(d *Data) { d.Factors[0].Along[0] = []float64{1, 1} },
		func(d *Data) { d.Factors[0].Along[1][0] = 2 },
		func(d *Data) { d.Cells[0].Group = 1 },
		func(d *Data) { d.Cells[0].Seen[0][1] = math.Nextafter(2, 3) },
		func(d *Data) { d.Cells[1].Seen[1][1] = math.Inf(1) },
		func(d *Data) { d.Cells[1].Member[0] = 1 },
		func(d *Data) { d.Cells[1].Count = 3 },
		func(d *Data) { d.Cells = append(d.Cells, d.Cells[0]) },
		func(d *Data) { d.Cells[0], d.Cells[1] = d.Cells[1], d.Cells[0] },
		func(d *Data) { d.Shares[0] = 0.4 },
		func(d *Data) { d.Coarse = true },
		func(d *Data) { d.Few = true },
		func(d *Data) { d.MeanFloor = math.Inf(-1) },
		func(d *Data) { d.MeanTop = 9 },
	} {
		d := data()
		change(&d)
		if other, there := seen[d.Digest()]; there {
			t.Errorf("change %d has the name of %d", i, other)
		}
		seen[d.Digest()] = i
	}
}
