package posterior

import "math"

const (
	fallEnd   = 40.0
	fallSteps = 32 // a unit
)

var fallTable = func() (t [fallEnd * fallSteps]float64) {
	for i := range t {
		t[i] = math.Exp(-(float64(i) + 0.5) / fallSteps)
	}
	return t
}()

// fall is e^−x for x ≥ 0, by a table and four terms of the series from the middle of its steps: good
// to 3e-9 of itself; 0 beyond fallEnd. For weights, of which a sweep asks by the thousand.
func fall(x float64) float64 {
	if !(x < fallEnd) {
		return 0
	}
	i := int(x * fallSteps)
	f := x - (float64(i)+0.5)*(1.0/fallSteps)
	return fallTable[i] * (1 - f*(1-f*(0.5-f*(1.0/6))))
}

// fallen is the same with no end.
func fallen(x float64) float64 {
	if x < fallEnd {
		return fall(max(x, 0))
	}
	return math.Exp(-x)
}
