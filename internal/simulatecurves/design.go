package main

import (
	"math"
	"math/rand/v2"

	"knownwater/science/curve"
)

// truth is a made-up method: its mean signal and the scatter of one signal.
type truth struct {
	name  string
	shape curve.Shape
	top   float64
	at    func(c float64) float64
}

// The methods of the tables. Stray light of 1 % over 0 to 12 mg/L is the
// photometer of the demo bench.
var truths = []truth{
	{"line", curve.Line, 12, func(c float64) float64 { return 0.012 + 0.08*c }},
	{"stray light 1 %", curve.StrayLight, 12, func(c float64) float64 {
		return 0.012 - math.Log10((math.Pow(10, -0.160*c)+0.010)/1.010)
	}},
	{"saturating", curve.Saturating, 40, func(c float64) float64 { return 0.004 + 0.062*c/(1+c/55) }},
	{"quadratic", curve.Quadratic, 16, func(c float64) float64 { return 0.0122 + 0.06745*c - 0.000632*c*c }},
	{"cubic", curve.Cubic, 16, func(c float64) float64 { return 0.01 + 0.05*c + 0.004*c*c - 0.0002*c*c*c }},
}

func truthOf(s curve.Shape) truth {
	for _, t := range truths {
		if t.shape == s {
			return t
		}
	}
	panic("no such truth")
}

// scatter is the standard deviation of one signal at level c; low is the
// lowest level above nothing that is measured.
type scatter struct {
	name string
	sd   func(t truth, c, low float64) float64
}

var (
	constant = scatter{"the same everywhere", func(truth, float64, float64) float64 { return 0.006 }}
	growing  = scatter{"0.004 and 3 %", func(t truth, c, _ float64) float64 { return math.Hypot(0.004, 0.03*t.at(c)) }}
	rootOfX  = scatter{"√x", func(_ truth, c, low float64) float64 { return 0.004 * math.Sqrt(math.Max(c, low)) }}
	likeX    = scatter{"x", func(_ truth, c, low float64) float64 { return 0.003 * math.Max(c, low) }}
)

// spaced are levels from nothing to the top, closer together below.
func spaced(n int, top float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		share := float64(i) / float64(n-1)
		out[i] = top * math.Pow(share, 1.5)
	}
	return out
}

// measured are the points of one made-up calibration.
func measured(t truth, s scatter, levels []float64, reps int, r *rand.Rand) []curve.Point {
	var out []curve.Point
	for _, c := range levels {
		for range reps {
			out = append(out, curve.Point{Level: c, Signal: signal(t, s, c, levels[1], r), Dilution: 1, Row: len(out) + 2})
		}
	}
	return out
}

func signal(t truth, s scatter, c, low float64, r *rand.Rand) float64 {
	return t.at(c) + s.sd(t, c, low)*r.NormFloat64()
}
