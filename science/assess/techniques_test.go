package assess_test

import (
	"fmt"
	"math"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// twoTechniques reads each known by two techniques three times, as a display does; the second
// is off by what by has for a known. A need goes from 1 to 10.
func twoTechniques(seed uint64, permitted float64, by map[float64]float64) knownwater.Trial {
	rng := num.Source(seed, 77)
	t := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea, Methods: []knownwater.Method{{Name: "M", Kind: knownwater.Display, Resolution: 0.01}},
		Needs: []knownwater.Need{{Name: "n", Low: 1, High: 10, Permitted: []knownwater.Permit{{At: 1, Error: permitted}}}}}
	for _, c := range []float64{0, 1, 2, 5, 10, 20} {
		for _, tech := range []string{"by the book", "hasty"} {
			for range 3 {
				v := c + 0.25*rng.NormFloat64()
				if tech == "hasty" {
					v += by[c]
				}
				v = math.Round(v*100) / 100
				t.Observations = append(t.Observations, knownwater.Observation{Method: "M", Level: c, Text: fmt.Sprintf("%.2f", v), Seen: interval.Interval{Low: v - 0.005, High: v + 0.005}, Dilution: 1, Technique: tech, Count: 1})
			}
		}
	}
	return t
}

// A verdict on two techniques is one on every known of the need, not on their average, and
// asks only about those: knowns beyond it, and the blank, take none away. (Of 100 trials each
// these came out so in 98, 98 and 98; with 0.3 permitted two that are the same were called
// different in 6 of 150.)
func TestTechniquesAreComparedAtEveryKnown(t *testing.T) {
	trials := 10
	if testing.Short() {
		trials = 2
	}
	for _, x := range []struct {
		name, verdict string
		by            map[float64]float64
	}{
		{"the same", assess.SameForNeed, nil},
		{"high below, low above: nothing on average", assess.Different, map[float64]float64{1: 1, 10: -1}},
		{"off beyond the need only", assess.SameForNeed, map[float64]float64{20: 5}},
	} {
		n := map[string]int{}
		for seed := range trials {
			f := assess.Run(twoTechniques(uint64(seed), 1, x.by), assess.Options{Brief: true}).Methods[0].Techniques[0]
			n[f.Verdict]++
		}
		if 10*n[x.verdict] < 8*trials {
			t.Errorf("%s: of %d trials %v, want eight of ten or more %q", x.name, trials, n, x.verdict)
		}
	}
}
