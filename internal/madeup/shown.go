package madeup

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
)

// ShownBelow is the chance that a normal of mean 0 that a display shows in steps lies below x, averaged over so many places
// where the steps may lie.
func ShownBelow(x, sd, step float64, phases int) float64 {
	sum := 0.0
	for i := range phases {
		sum += num.Phi((x + phase(i, phases)*step) / sd)
	}
	return sum / float64(phases)
}

func phase(i, of int) float64 { return (float64(i)+0.5)/float64(of) - 0.5 }

// AverageError is how far 95 % of averages of n readings lie from what they should read at most, of readings that are off by so
// much and scatter so that a display shows in steps: every reading is worked out, wherever the steps lie.
func AverageError(n int, off, sd, step float64) float64 {
	const phases = 400
	type miss struct{ by, p float64 }
	var all []miss
	reach := int(math.Ceil(6*sd/step)) + 1
	for i := range phases {
		at := phase(i, phases) // the mean lies so many steps above what a number stands for
		one := make([]float64, 2*reach+1)
		for k := range one {
			from := float64(k-reach) - 0.5 - at
			one[k] = num.Phi((from+1)*step/sd) - num.Phi(from*step/sd)
		}
		sum := []float64{1}
		for range n {
			next := make([]float64, len(sum)+len(one)-1)
			for a, x := range sum {
				for b, z := range one {
					next[a+b] += x * z
				}
			}
			sum = next
		}
		for k, p := range sum {
			all = append(all, miss{math.Abs((float64(k-reach*n)/float64(n)-at)*step + off), p / phases})
		}
	}
	slices.SortFunc(all, func(a, b miss) int { return cmp.Compare(a.by, b.by) })
	within := 0.0
	for _, m := range all {
		if within += m.p; within >= 0.95 {
			return m.by
		}
	}
	return math.Inf(1)
}
