// Package response knows how a method's mean answer can follow the true
// concentration: every shape once, with its value, its slope, its gradient in
// the coefficients, where a search for them may start, and what they mean to
// people. Package record fits a shape to a trial's level means, package curve to
// single points; neither knows how a shape is computed.
package response

// Name is what a shape is called.
type Name string

// The shapes.
const (
	Line       Name = "line"
	Quadratic  Name = "quadratic"
	Cubic      Name = "cubic"
	Saturating Name = "saturating"
	StrayLight Name = "stray light"
	DeadZone   Name = "dead zone"
	Free       Name = "free monotone"
)

// Shape is one way in which an answer follows the concentration c, as a function
// of its coefficients p. Units: c and answers are whatever the caller's are; a
// coefficient's unit follows from Formula. The functions never fail: where a shape
// has no value (a pole, a logarithm of nothing) they give NaN or an infinity.
type Shape struct {
	Name    Name
	Called  string // inside a sentence, with its article
	Formula string
	Means   []string // what each coefficient is, for people
	Params  int
	Linear  bool // in its coefficients
	Caused  bool // its bend has a cause and it rises throughout: what a trial's record may have; the others are left to curves
	Light   bool // … and the cause is the light in an instrument: only an absorbance has it

	At       func(p []float64, c float64) float64
	Slope    func(p []float64, c float64) float64      // ∂At/∂c
	Gradient func(p []float64, c float64, g []float64) // ∂At/∂p, written to g

	// Starts are coefficients from which a search may begin, the likeliest first.
	// q is a quadratic (q0 + q1·c + q2·c²) that was fitted to the answers y at the
	// rising concentrations c. Linear shapes need none.
	Starts func(q, c, y []float64) [][]float64
	// Sound says whether coefficients mean something, for answers up to top.
	Sound func(p []float64, top float64) bool

	// Positive is the coefficient that must be above 0, so that who spreads it in
	// draws carries its logarithm; −1 where none must.
	Positive int
	// Powers say how coefficients go when every concentration is multiplied by 1/k:
	// At(p, k·c) = At(p′, c) with p′_j = p_j·k^Powers[j].
	Powers []float64
}

// Of is the shape of a name; nil where there is none with coefficients of its own.
func Of(n Name) *Shape {
	for _, s := range All {
		if s.Name == n {
			return s
		}
	}
	return nil
}

// All are the shapes with a formula, in the order in which one is preferred to
// those after it. Bent answers mostly have a cause that is known: stray light s in
// the instrument, a reagent that runs short (saturating); polynomials stand for
// what has none. Saturating and stray light pass smoothly through the line at
// b2 = 0, so that an answer that is hardly bent has a covariance that can be
// trusted.
var All = []*Shape{
	polynomial(Line, 1),
	strayLight,
	saturating,
	polynomial(Quadratic, 2),
	deadZone,
	polynomial(Cubic, 3),
}
