package series

import (
	"math"
	"slices"
)

// weigh makes weights that sum to 1 of their logarithms, in place, and says the logarithm of their sum.
func weigh(logs []float64) float64 {
	top, total := slices.Max(logs), 0.0
	for k, l := range logs {
		logs[k] = math.Exp(l - top)
		total += logs[k]
	}
	for k := range logs {
		logs[k] /= total
	}
	return top + math.Log(total)
}

// placeAt is where a share of all weights ends that sum to 1.
func placeAt(weights []float64, share float64) int {
	sum := 0.0
	for k, v := range weights {
		if sum += v; sum >= share {
			return k
		}
	}
	return len(weights) - 1
}
