package assess

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// What a glimpse leaves undone changes no answer: of made-up places about the border, it says
// what all draws say.
func TestGlimpsesSayWhatAllDrawsSay(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 41))
	const n = 125
	yes, missed, unseen := 0, 0, 0
	for range 3000 {
		by := rule{rng.IntN(2) == 0, 0.025 + 0.05*rng.Float64(), 0.0125 + 0.0125*rng.Float64()}
		var wide, own []sample
		may := false
		for range 1 + rng.IntN(4) {
			var form, wides, owns []float64
			middle := 3*rng.Float64() - 0.5
			for range n {
				x, y, z := middle+rng.NormFloat64(), middle+rng.NormFloat64(), middle+rng.NormFloat64()
				if by.steps {
					x, y, z = float64(int(2*x)), float64(int(2*y)), float64(int(2*z))
				}
				form, wides, owns = append(form, math.Exp(x-2.5)), append(wides, math.Exp(y)), append(owns, math.Exp(z))
			}
			g := glimpse{forms: n, wides: n, form: func(k int) float64 { return form[k] }, wide: func(k int) float64 { return wides[k] }, own: func(k int) float64 { return owns[k] }}
			fits := quantile(form, 1-by.above) <= 1
			if g.fits(by) != fits {
				t.Fatalf("fits: %v, of all draws %v", g.fits(by), fits)
			}
			if fits {
				yes++
			}
			may = may || g.mayMiss(by)
			wide, own = append(wide, sampleOf(wides, by.steps)), append(own, sampleOf(owns, false))
		}
		not := slices.ContainsFunc(bandOf(wide, own, by), func(low float64) bool { return low > 0 })
		if not && !may {
			t.Fatalf("the band lies above, and was not looked at: %+v", by)
		}
		if not {
			missed++
		}
		if !may {
			unseen++
		}
	}
	if yes < 100 || missed < 100 || unseen < 100 {
		t.Errorf("%d places fit, %d needs missed, %d not looked at: too few to tell", yes, missed, unseen)
	}
}
