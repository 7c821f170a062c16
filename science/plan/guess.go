package plan

import (
	"math"

	"knownwater"
	"knownwater/science/reading"
)

// byKind is where a guess comes from that Fill gave.
const byKind = "kind"

// Fill gives a guess for a method of which nothing is known, by its kind (see
// reading.Guess). A guess with a spread of its own stays.
func (g Guess) Fill(m knownwater.Method) Guess {
	if g.Slope == 0 {
		g.Slope = 1
	}
	if g.Sigma0 > 0 || g.Kappa > 0 {
		return g
	}
	k := reading.Of(m.Kind).Guess
	g.From = byKind
	g.Sigma0, g.Kappa, g.Reader, g.Session, g.Vial = k.Steps*reading.Finest(m), k.Kappa, k.Reader, k.Session, k.Vial
	return g
}

// mean is the mean reading of a cell that holds c.
func (g Guess) mean(c float64) float64 { return g.Offset + g.Slope*c }

// sd is the spread of one test at a mean reading.
func (g Guess) sd(mean float64) float64 { return math.Hypot(g.Sigma0, g.Kappa*mean) }

// rest is the share of the spread that is left for the single reading, so that
// all parts together make the whole: 1 = reader² + session² + vial² + rest².
func (g Guess) rest() float64 {
	return math.Sqrt(max(0, 1-g.Reader*g.Reader-g.Session*g.Session-g.Vial*g.Vial))
}
