package history_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"knownwater/science/history"
	"knownwater/science/num"
)

// Two knowns are tested with both lots and a third with one, first the one with fewest vials: what is said of a known is that of which most
// vials are, by a meter that errs by 0.2, and the ratio is of all.
func TestLotsBesideByTwoKnowns(t *testing.T) {
	rng := num.Source(21)
	vials := func(share float64, knowns ...float64) (out []history.Entry) {
		for _, c := range knowns {
			out = append(out, history.Entry{Method: "Meter", Reader: "Ines", Dilution: 1, Check: true, Known: c, UKnown: 0.02, Reading: fmt.Sprintf("%.2f", share*c+0.2*rng.NormFloat64())})
		}
		return out
	}
	b := history.BesideBy(recordOf(t), vials(1, 2, 2, 10, 10, 10, 10), vials(0.9, 5, 2, 2, 10, 10, 10))
	if b.From != 6 || b.To != 5 || !slices.Equal(b.Knowns, []float64{2, 10}) || b.Known != 10 || math.Abs(b.CV-0.02) > 0.006 || !(b.Low < 0.9 && 0.9 < b.High && b.High-b.Low < 0.06) {
		t.Errorf("%+v", b)
	}
	if n := history.BesideBy(recordOf(t), vials(1, 2), vials(1, 10)); !math.IsNaN(n.Ratio) || !math.IsNaN(n.CV) || !math.IsNaN(n.Known) {
		t.Errorf("nothing tested with both: %+v", n)
	}
}

// A known of which the first vial was made better than the nine later ones. By hand: all of them alike are off by 0.9 of the later ones' 4 %, and
// a lot that reads 0.9 by so much of that.
func TestKnownsMadeWorseLater(t *testing.T) {
	l := log(0.9)
	n := 0
	for i, e := range l {
		if e.Check && e.Lot == "L2" {
			if n++; n > 1 {
				l[i].UKnown = 0.4
			}
		}
	}
	b := bridge(t, judged(t, l, recordOf(t)), history.OfLot)
	if width := b.High - b.Low; math.Abs(width-2*num.Z95*0.9*0.9*0.04) > 0.01 {
		t.Errorf("%.4f to %.4f", b.Low, b.High)
	}
}
