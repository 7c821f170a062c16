package assess

import (
	"math"
	"math/rand/v2"
	"testing"

	"knownwater"
	"knownwater/internal/madeup"
	"knownwater/science/doubt"
	"knownwater/science/reading"
)

// A card whose readers never say "between" where it is said to be half of every gap is
// asked about, with a sharing that is nearer; one that is read as it says is not, nor
// one that is read a little otherwise.
func TestSharesAreAskedAbout(t *testing.T) {
	for _, c := range []struct {
		stated, read float64
		n            int
		asked        bool
	}{{0.25, 0.48, 24, true}, {0.25, 0.25, 24, false}, {0.25, 0.33, 250, false}, {0.44, 0.09, 24, true}} {
		m := knownwater.Method{Name: "Card", Kind: knownwater.Chart, AtShare: c.stated}
		for s := range 12 {
			m.Swatches = append(m.Swatches, 5*float64(s))
		}
		by := m
		by.AtShare = c.read
		d := madeup.Of("", m, []float64{6, 13, 19, 27, 34, 41, 48}, c.n, nil, func(float64) float64 { return 2 }, func(y float64) string { return reading.Show(y, by) })
		var q []doubt.Question
		for _, found := range Run(d.Trial(rand.New(rand.NewPCG(1, 2)), "nitrate", nil), Options{Seed: 1, Brief: true}).Questions {
			if found.Kind == doubt.OfShare {
				q = append(q, found)
			}
		}
		if (len(q) > 0) != c.asked {
			t.Errorf("stated %g, read by %g: asked %v", c.stated, c.read, q)
			continue
		}
		if c.asked {
			if share := float64(q[0].Says.Numbers["share"][0]); math.Abs(share-c.read) > 0.1 || float64(q[0].Says.Numbers["stated"][0]) != c.stated {
				t.Errorf("stated %g, read by %g: asked about %g", c.stated, c.read, share)
			}
		}
	}
}
