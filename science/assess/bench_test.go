package assess_test

import (
	"testing"

	"knownwater/demo"
	"knownwater/science/assess"
)

// BenchmarkDemo assesses the demo trial, all intervals.
func BenchmarkDemo(b *testing.B) {
	t, err := demo.Trial(1)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		assess.Run(t, assess.Options{Seed: 1})
	}
}
