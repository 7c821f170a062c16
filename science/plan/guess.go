package plan

import (
	"math"

	"knownwater"
)

// Fill gives a guess for a method of which nothing is known, by its kind:
// common practice, no source (charts: the invented scatters of 0.10 to 0.13 on a
// logarithmic scale that the demo uses). A guess with a spread of its own stays.
func (g Guess) Fill(m knownwater.Method) Guess {
	if g.Slope == 0 {
		g.Slope = 1
	}
	if g.Sigma0 > 0 || g.Kappa > 0 {
		return g
	}
	step := finest(m)
	g.From = "a guess by its kind"
	switch m.Kind {
	case knownwater.Chart:
		g.Sigma0, g.Kappa, g.Reader, g.Session, g.Vial = step/4, 0.12, 0.5, 0.2, 0.5
	case knownwater.Drops:
		g.Sigma0, g.Kappa, g.Reader, g.Session, g.Vial = step/3, 0.03, 0.3, 0.2, 0.3
	case knownwater.Photo:
		g.Sigma0, g.Kappa, g.Reader, g.Session, g.Vial = 2*step, 0.06, 0.1, 0.3, 0.3
	default:
		g.Sigma0, g.Kappa, g.Reader, g.Session, g.Vial = 2*step, 0.03, 0.1, 0.2, 0.3
	}
	return g
}

// finest is the smallest step that a method shows near zero.
func finest(m knownwater.Method) float64 {
	switch {
	case len(m.Swatches) > 1:
		return m.Swatches[1] - m.Swatches[0]
	case m.DropValue > 0:
		return m.DropValue
	case m.Resolution > 0:
		return m.Resolution
	}
	return 0.01
}

// sd is the spread of one test at a mean reading.
func (g Guess) sd(mean float64) float64 { return math.Hypot(g.Sigma0, g.Kappa*mean) }

// rest is the share of the spread that is left for the single reading, so that
// all parts together make the whole: 1 = reader² + session² + vial² + rest².
func (g Guess) rest() float64 {
	return math.Sqrt(max(0, 1-g.Reader*g.Reader-g.Session*g.Session-g.Vial*g.Vial))
}
