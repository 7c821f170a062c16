package assess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// scatteredLots is a display tried with three lots, three readings of each at every known, which read by so much and
// by such a share otherwise.
func scatteredLots(rng *rand.Rand, sd func(c float64) float64, offset, share [3]float64) knownwater.Trial {
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	tr := knownwater.Trial{Scale: scale, Water: unit.StandardSea, Methods: []knownwater.Method{{Name: "display", Kind: knownwater.Display, Resolution: 0.001}}}
	for _, c := range []float64{0, 1.5, 3, 6, 12, 20} {
		for v := range 9 {
			text := reading.Show(c+offset[v%3]+share[v%3]*c+sd(c)*rng.NormFloat64(), tr.Methods[0])
			seen, err := reading.Understand(text, tr.Methods[0])
			if err != nil {
				panic(err)
			}
			tr.Observations = append(tr.Observations, knownwater.Observation{Method: "display", Level: c, Text: text, Seen: seen,
				Dilution: 1, Count: 1, Lot: fmt.Sprint("lot ", v%3), Vial: fmt.Sprintf("v%v-%d", c, v)})
		}
	}
	return tr
}

// Lots that differ by an offset and a share, readings that scatter by 0.01 and 2 %: the lots' part goes along with no one thing, and
// by the lot's own readings sets of readings with a lot that was tried are 1.3 to 1.5 times as wide as of somebody who knew the lot, else up to 2.3. Of lots
// that differ by the same at every level 84 to 87 % of these sets held waters of 12 and 20 while the lots' part went along with the scatter
// alone; now it goes along with nothing, and 93 to 97 do. Of lots that differ in proportion, or in units of scatter, nothing is to be seen.
func TestLotsWhoseScatterIsTheirOwn(t *testing.T) {
	rising, even := func(c float64) float64 { return math.Hypot(0.01, 0.02*c) }, func(float64) float64 { return 0.1 }
	for name, c := range map[string]struct {
		sd            func(c float64) float64
		offset, share [3]float64
		own           bool
	}{
		"both, scatter that rises":         {rising, [3]float64{-0.5, 0.1, 0.7}, [3]float64{0.08, -0.06, 0.01}, true},
		"an offset, scatter that rises":    {rising, [3]float64{-0.5, 0.1, 0.7}, [3]float64{}, false},
		"an offset, scatter that does not": {even, [3]float64{-0.5, 0.1, 0.7}, [3]float64{}, false},
		"a share":                          {rising, [3]float64{}, [3]float64{-0.05, 0.02, 0.04}, false},
		"none":                             {rising, [3]float64{}, [3]float64{}, false},
	} {
		p, err := PerformanceOf(scatteredLots(rand.New(rand.NewPCG(5, 3)), c.sd, c.offset, c.share), "", "", Options{})
		if err != nil {
			t.Fatal(err)
		}
		st := p.first()
		if got := st.ofTriedLot("lot 1") != st; got != c.own {
			t.Errorf("%s: told by the lot's own readings: %v", name, got)
		}
		if st.ofTriedLot("another") != st || st.ofTriedLot("") != st {
			t.Errorf("%s: a lot that was not tried has no readings of its own", name)
		}
		o, err := p.Read(result.Question{Readings: []string{"17.1"}, Lot: "lot 1"})
		if err != nil {
			t.Fatal(err)
		}
		if wide := float64(o.Result.Estimate - o.Result.Low); c.sd(20) > 0.3 && !(wide > 2*0.34*0.8) { // less than the readings scatter before
			t.Errorf("%s: %v from %v", name, o.Result.Estimate, o.Result.Low)
		}
	}
}
