package response

import "math"

// The starts compare the expansion of a shape at 0 with the quadratic q, then try
// what slopes between single answers say.

// b0 + b1·c − b1·b2·c² + …
func startSaturating(q, c, y []float64) [][]float64 {
	last, half := len(c)-1, max(1, len(c)/2)
	top := c[last]
	var out [][]float64
	if q[1] != 0 {
		if b := -q[2] / q[1]; b > -0.5/top {
			out = append(out, []float64{q[0], q[1], b})
		}
	}
	out = append(out, []float64{q[0], q[1] + 2*math.Abs(q[2])*top, 1 / top})
	// the first slope from the lower half, and where the top falls short of it
	first, whole := (y[half]-y[0])/(c[half]-c[0]), (y[last]-y[0])/(c[last]-c[0])
	bend := 0.1 / top
	if first > whole && whole > 0 {
		bend = (first - whole) / (top * whole)
	}
	return append(out, []float64{y[0] - first*c[0], first, bend})
}

// b0 + e/(1 + s)·c − ½·e²·ln 10·s/(1 + s)²·c² + …; the ceiling is b0 − log10(s/(1 + s)).
func startStray(q, c, y []float64) [][]float64 {
	last, half := len(c)-1, max(1, len(c)/2)
	top, highest := c[last], y[last]
	var out [][]float64
	if q[1] > 0 {
		s := -2 * q[2] / (q[1] * q[1] * math.Ln10)
		s = math.Min(math.Max(s, 1e-4), mostStray)
		out = append(out, []float64{q[0], q[1] * (1 + s), s})
	}
	t := math.Pow(10, -(highest - q[0]))
	out = append(out, []float64{q[0], math.Max(q[1], (highest-q[0])/top) * 1.2, 0.5 * t})
	first := (y[half] - y[0]) / (c[half] - c[0])
	return append(out, []float64{y[0] - first*c[0], first, 0.01})
}

func startDeadZone(q, c, y []float64) [][]float64 {
	last, half := len(c)-1, len(c)/2
	top, highest := c[last], y[last]
	var out [][]float64
	for _, share := range []float64{0.1, 0.25} {
		out = append(out, []float64{q[0], (highest - q[0]) / (top * (1 - share)), top * share})
	}
	// the slope of the upper half, back to the first answer
	if rise := (highest - y[half]) / (top - c[half]); rise > 0 {
		if meets := top - (highest-y[0])/rise; meets > top/100 && meets < top/2 {
			return append(out, []float64{y[0], rise, meets})
		}
		return append(out, []float64{y[0], rise, top / 10})
	}
	return out
}
