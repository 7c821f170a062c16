package demo_test

import (
	"testing"

	"knownwater/demo"
	"knownwater/science/assess"
	"knownwater/science/doubt"
)

// The two swapped vials of the demo are asked about, whatever the seed, and
// hardly any others.
func TestSwappedVialsAreAskedAbout(t *testing.T) {
	asked, others := 0, 0
	const seeds = 4
	for seed := range uint64(seeds) {
		trial, err := demo.Trial(seed)
		if err != nil {
			t.Fatal(err)
		}
		f := assess.Run(trial, assess.Options{Seed: seed, Brief: true})
		for _, q := range f.Questions {
			t.Log(seed, q.Kind, q.Method, q.At)
			if q.Kind == doubt.OfSwap && q.Method == "Elm" {
				asked++
			} else {
				others++
			}
		}
	}
	if asked < seeds-1 {
		t.Errorf("asked about in %d of %d trials", asked, seeds)
	}
	if others > seeds/4 {
		t.Errorf("%d other questions in %d trials, where nothing else went wrong", others, seeds)
	}
}
