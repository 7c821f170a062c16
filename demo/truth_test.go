package demo

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// The truth's formulas against readings drawn one by one, as a trial's are, of every method at its
// ends and of the techniques: means within four standard errors, spreads within 4 %.
func TestTruthIsWhatIsRead(t *testing.T) {
	const n = 6000
	for i, a := range actList {
		for k, at := range []struct {
			added     float64
			technique int
		}{{a.levels[0], 0}, {a.levels[len(a.levels)-1], 0}, {sideLevel, 1}} {
			rng, tech := num.Source(20, uint64(i), uint64(k)), techniques[at.technique]
			y := make([]float64, n)
			for j := range y {
				y[j] = a.dilution * a.scatter.read(a.response(trueLevel(at.added)*tech.yield)+a.session*rng.NormFloat64(), rng.NormFloat64(), a.readers[j%3], tech.scatter, rng)
			}
			mean, sd := a.moments(at.added, at.technique)
			gotMean, gotSD := num.MeanSD(y)
			if !(math.Abs(gotMean-mean) <= 4*sd/math.Sqrt(n)) || !(math.Abs(gotSD/sd-1) <= 0.04) {
				t.Errorf("%s, dilution %g, added %g: read %g ± %g, said %g ± %g", a.method.Name, a.dilution, at.added, gotMean, gotSD, mean, sd)
			}
		}
	}
	if got := len(TruthOf(1).Sides); got != 4 { // the two charts, each by two techniques beside the book
		t.Errorf("%d comparisons of techniques", got)
	}
}
