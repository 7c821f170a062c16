package response

// names, formulas and meanings of polynomials by degree.
var (
	called   = []string{"", "a straight line", "a quadratic", "a cubic"}
	formulas = []string{"b0", "b0 + b1·c", "b0 + b1·c + b2·c²", "b0 + b1·c + b2·c² + b3·c³"}
	powers   = []string{"answer at nothing", "rise near nothing, per concentration", "bend", "change of the bend"}
)

// polynomial is b0 + b1·c + … up to a degree, by Horner's rule.
func polynomial(n Name, degree int) *Shape {
	p := make([]float64, degree+1)
	for j := range p {
		p[j] = float64(j)
	}
	return &Shape{
		Name: n, Caused: degree == 1, Called: called[degree], Formula: formulas[degree], Means: powers[:degree+1], Params: degree + 1, Linear: true, Positive: -1, Powers: p,
		At: func(p []float64, c float64) float64 {
			y := 0.0
			for j := len(p) - 1; j >= 0; j-- {
				y = y*c + p[j]
			}
			return y
		},
		Slope: func(p []float64, c float64) float64 {
			y := 0.0
			for j := len(p) - 1; j >= 1; j-- {
				y = y*c + float64(j)*p[j]
			}
			return y
		},
		Gradient: func(_ []float64, c float64, g []float64) {
			g[0] = 1
			for j := 1; j < len(g); j++ {
				g[j] = g[j-1] * c
			}
		},
		Sound: func([]float64, float64) bool { return true },
	}
}
