package assess

import (
	"math"
	"testing"

	"knownwater/science/posterior"
)

// The mean that a lot's readings say, and its variance, by hand: of exact readings their own and sd²/n (to 3 %, which is what the chance
// of slips makes of it), of intervals with next to no scatter the middle of where all agree and width²/12.
func TestMeanOfCells(t *testing.T) {
	open := math.Inf(1)
	cell := func(low, high, n float64) posterior.Cell {
		return posterior.Cell{Seen: [][2]float64{{low, high}}, Count: n}
	}
	for _, x := range []struct {
		name                  string
		cells                 []posterior.Cell
		sd, mean, off, spread float64
	}{
		{"three exact ones", []posterior.Cell{cell(0.8, 0.8, 1), cell(1, 1, 1), cell(1.2, 1.2, 1)}, 0.2, 1, 1e-3, 0.2 / math.Sqrt(3)},
		{"four alike", []posterior.Cell{cell(3, 3, 4)}, 0.2, 3, 1e-3, 0.1},
		{"one answer", []posterior.Cell{cell(2, 3, 1)}, 1e-3, 2.5, 2e-3, 1 / math.Sqrt(12)},
		{"an answer and one open below", []posterior.Cell{cell(1, 3, 2), cell(-open, 2, 1)}, 1e-3, 1.5, 4e-3, 1 / math.Sqrt(12)},
		{"beneath the floor", []posterior.Cell{cell(-1, 1, 1)}, 1e-3, 0.5, 4e-3, 1 / math.Sqrt(12)},
		{"above what means can be", []posterior.Cell{cell(9, 30, 1)}, 1e-3, 9.5, 4e-3, 1 / math.Sqrt(12)},
		// a slip weighs as a reading of ten times the scatter: 20 · 0.01/5.01
		{"five, and a slip", []posterior.Cell{cell(1, 1, 5), cell(21, 21, 1)}, 0.2, 1 + 0.2/5.01, 2e-3, 0.2 / math.Sqrt(5)},
	} {
		mean, variance, ok := meansWithin(0, 10, 1).meanOfCells(x.cells, x.sd, adds(0))
		if !ok || math.Abs(mean-x.mean) > x.off || math.Abs(math.Sqrt(variance)/x.spread-1) > 0.03 {
			t.Errorf("%s: %.5f, spread %.5f; by hand %.5f and %.5f", x.name, mean, math.Sqrt(variance), x.mean, x.spread)
		}
	}
	for _, cells := range [][]posterior.Cell{nil, {cell(-open, 2, 3), cell(-open, 1, 1)}, {cell(5, open, 2)}} {
		if mean, _, ok := meansWithin(0, 10, 1).meanOfCells(cells, 0.1, adds(0)); ok {
			t.Errorf("%v: a mean of %g is told", cells, mean)
		}
	}
	// what a reader adds is taken off, and that sharing counts that the readings speak for most
	two := []posterior.Cell{{Seen: [][2]float64{{50, 60}, {1.3, 2.3}}, Count: 1}, {Seen: [][2]float64{{50, 60}, {1.3, 4}}, Count: 1}}
	if mean, _, ok := meansWithin(0, 10, 0.2, 0.8).meanOfCells(two, 1e-3, adds(300)); !ok || math.Abs(mean-1.5) > 4e-3 {
		t.Errorf("%.5f of a reader who adds 0.3, by hand 1.5", mean)
	}
}

// meansWithin is a study whose means lie between two bounds, with the weights of the sharings.
func meansWithin(floor, top float64, share ...float64) *study {
	return &study{post: &posterior.Posterior{Share: share}, design: &design{data: posterior.Data{MeanFloor: floor, MeanTop: top}}}
}

func adds(by float64) func(posterior.Cell) float64 { return func(posterior.Cell) float64 { return by } }

// Of four readings two came from one vial and one of no vial that was told: (2² + 1 + 1)/4² of a vial's variance is left in their mean.
func TestEvenness(t *testing.T) {
	of := func(vial int, n float64) posterior.Cell { return posterior.Cell{Member: []int{0, vial}, Count: n} }
	if got := evenness([]posterior.Cell{of(3, 1), of(1, 1), of(3, 1), of(posterior.None, 1)}, 1); got != 6./16 {
		t.Errorf("%g, by hand 0.375", got)
	}
	if got := evenness([]posterior.Cell{of(0, 2), of(1, 2)}, 1); got != 0.5 {
		t.Errorf("%g, by hand 0.5", got)
	}
}

// A cell's reader and session add their average effects; its lot, its vial and who is not told add nothing.
func TestAddedByOthers(t *testing.T) {
	d := posterior.Data{Groups: 1, Factors: []posterior.Factor{{Name: "reader", Members: 2}, {Name: "lot", Members: 1}, {Name: "session", Members: 1}, {Name: "vial", Members: 1, Nested: true}}}
	effect := [][][]float64{{{0.5, 1.5}, {-1, -3}}, {{7, 7}}, {{0.25, 0.25}}, {{9, 9}}}
	st := &study{design: &design{data: d}, post: &posterior.Posterior{Form: &posterior.Draws{Effect: effect}}}
	others := st.addedByOthers(1)
	for _, x := range []struct {
		member []int
		want   float64
	}{{[]int{0, 0, 0, 0}, 1.25}, {[]int{1, 0, posterior.None, 0}, -2}, {[]int{posterior.None, 0, 0, 0}, 0.25}} {
		if got := others(posterior.Cell{Member: x.member}); got != x.want {
			t.Errorf("%v: %g, by hand %g", x.member, got, x.want)
		}
	}
}
