package posterior

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// What all readers of a trial have in common is not seen in their readings: its draws lie about
// nothing. A chart's blank, whose mean would be below nothing as likely as above but for a bound,
// said that they read low, and the means of all other levels went up with that: of made-up fine charts
// read by three (docs/accuracy.md) lower limits missed in up to 5 % at a level, upper ones in none.
func TestBlankSaysNothingOfAllReaders(t *testing.T) {
	d := Data{Groups: 3, Level: []float64{0, 5, 20}, Coarse: true, Technique: make([]int, 3), OneVial: make([]bool, 3), MeanFloor: 0, MeanTop: 100,
		Factors: []Factor{{Name: "reader", Members: 3, Scale: 1}}}
	seen := func(g, reader int, low, high, n float64) {
		d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{low, high}}, Member: []int{reader}, Count: n})
	}
	for reader := range 3 {
		seen(0, reader, math.Inf(-1), 0.25, 2)
		seen(0, reader, 0.25, 0.75, 1)
		for g, at := range []float64{5, 20} {
			seen(g+1, reader, at-0.25, at+0.25, 2)
			seen(g+1, reader, at-0.75, at-0.25, 1)
			seen(g+1, reader, at+0.25, at+0.75, 1)
		}
	}
	p := fitted(t, d)
	all := make([]float64, p.Wide.Len())
	for _, reader := range p.Wide.Effect[0] {
		for k, a := range reader {
			all[k] += a / 3
		}
	}
	middle, sd := num.MeanSD(all)
	if math.Abs(middle) > 0.15*sd {
		t.Errorf("all readers together read %.2f ± %.2f of the spread off", middle, sd)
	}
	for g, at := range []float64{5, 20} {
		low, high := tails(p.Wide.Mean[g+1], 0.025)
		if math.Abs((low+high)/2-at) > 0.06*(high-low) {
			t.Errorf("readings about %g give a mean of %.3f to %.3f", at, low, high)
		}
	}
}
