package assess

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// Results of one lot share the lot's part exactly: however many readings a result is the mean
// of, that part of its variance stays, the rest falls as one over their number; and in the
// difference of two results what they share falls out to the last digit at one level, and
// nearly so at two.
func TestALotIsShared(t *testing.T) {
	meter := knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.01}
	scale, err := unit.Parse("nitrate", "mg/L", "NO3")
	if err != nil {
		t.Fatal(err)
	}
	tr := knownwater.Trial{Scale: scale, Methods: []knownwater.Method{meter}}
	rng := num.Source(81)
	for _, level := range []float64{0, 2, 5, 10, 15} {
		for k := range 9 {
			text := fmt.Sprintf("%.2f", level*[]float64{0.9, 1, 1.1}[k%3]+0.2*rng.NormFloat64())
			seen, err := reading.Understand(text, meter)
			if err != nil {
				t.Fatal(err)
			}
			tr.Observations = append(tr.Observations, knownwater.Observation{Method: "Meter", Level: level, ULevel: 0.02, Text: text, Seen: seen, Dilution: 1, Lot: fmt.Sprint("L", k%3), Vial: fmt.Sprint(level, k), Count: 1})
		}
	}
	p, err := PerformanceOf(tr, "Meter", "", Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	st := p.first()
	rapid.Check(t, func(t *rapid.T) {
		n, m := rapid.IntRange(1, 20).Draw(t, "n"), rapid.IntRange(1, 20).Draw(t, "m")
		d := rapid.IntRange(0, st.rec.Draws()-1).Draw(t, "draw")
		lot := rapid.SampledFrom([]string{"L0", "L2", "L9"}).Draw(t, "lot")
		s := sampled{study: st, lot: lot}
		a, b := s.shares(d, []result.Readings{{Count: n}}), s.shares(d, []result.Readings{{Count: m}})
		if a.shared != b.shared || a.shift != b.shift || math.Abs((a.own+a.vial)*float64(n)-(b.own+b.vial)*float64(m)) > 1e-12*(a.own+a.vial)*float64(n) {
			t.Errorf("of %s, %d readings %+v, %d %+v", lot, n, a, m, b)
		}
		c, e := rapid.Float64Range(2, 14).Draw(t, "c"), rapid.Float64Range(2, 14).Draw(t, "e")
		if untried, adds := lot == "L9", s.ofUntriedLot(d, c); a.shared != [3]float64{} || untried != (adds > 0) || untried == (a.shift != [3]float64{}) {
			t.Errorf("of %s: %+v, and %g for a lot that was not tried", lot, a, adds)
		}
		w := p.Way("", lot, 1)
		alone, same, two := make([]float64, WayDraws), make([]float64, WayDraws), make([]float64, WayDraws)
		w.Shared(c, 1, alone)
		w.Shared(c, 1, same)
		p.Way("", lot, 1).Shared(c, -1, same)
		w.Shared(c, 1/c, two)
		w.Shared(e, -1/e, two)
		var one, both float64
		for k := range same {
			if same[k] != 0 {
				t.Fatalf("draw %d: two results of one lot at %g differ by %g in what they share", k, c, same[k])
			}
			one, both = one+alone[k]*alone[k]/c/c, both+two[k]*two[k]
		}
		if both > 2*one+1e-12 && c > e/1.3 && e > c/1.3 {
			t.Errorf("ratio of %g to %g: variance of what is shared %g, of one alone %g", c, e, both, one)
		}
	})
}
