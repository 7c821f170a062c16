package demo

import (
	"testing"

	"knownwater/science/num"
)

// TestTruthAtOnce: the truths that are worked out side by side are each method's and
// level's own.
func TestTruthAtOnce(t *testing.T) {
	truth := TruthOf(1)
	if len(truth.Methods) != len(actList) || len(truth.Sides) == 0 {
		t.Fatalf("the truth of %d methods of %d, %d comparisons", len(truth.Methods), len(actList), len(truth.Sides))
	}
	for i, a := range actList {
		j := i % len(a.levels)
		mean, sd := moments(a, a.levels[j], 0, num.Source(truthSeed, uint64(i), uint64(j)))
		got := truth.Methods[i]
		if got.Method != a.method.Name || got.Dilution != a.dilution || len(got.Levels) != len(a.levels) || got.Levels[j].Mean != mean || got.Levels[j].SD != sd {
			t.Errorf("%s, dilution %g: %+v, want mean %g and spread %g of level %d", a.method.Name, a.dilution, got, mean, sd, j)
		}
	}
}
