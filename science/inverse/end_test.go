package inverse

import (
	"math"
	"testing"
)

// Ends known from the formula: 4 − (c − 1)² is above 0 from −1 to 3.
func TestEnd(t *testing.T) {
	parabola := func(c float64) float64 { return 4 - (c-1)*(c-1) }
	for name, c := range map[string]struct {
		at, reach, step float64
		margin          func(float64) float64
		want            float64
	}{
		"upwards":                  {1, 100, 0.3, parabola, 3},
		"downwards":                {1, -100, 0.3, parabola, -1},
		"a step too long":          {1, 4, 50, parabola, 3},
		"steps too short":          {1, 100, 1e-6, parabola, 3},
		"not within reach":         {1, 2.9, 0.3, parabola, math.NaN()},
		"just within reach":        {1, 3, 0.3, parabola, 3},
		"nowhere to go":            {1, 1, 0.3, parabola, math.NaN()},
		"cannot be computed there": {1, 5, 0.3, func(c float64) float64 { return math.Sqrt(2 - c) }, math.NaN()},
	} {
		got := End(c.at, c.reach, c.step, c.margin)
		if !(math.Abs(got-c.want) <= 1e-11) && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("%s: %g, want %g", name, got, c.want)
		}
	}
}
