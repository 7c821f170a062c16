package response

import "sort"

// FreeOn is the broken line through its coefficients, one at each of the rising
// knots; outside them the end pieces go on. Between neighbours it is as free as
// what is put into it, so it never needs a search.
func FreeOn(knots []float64) *Shape {
	n := len(knots)
	piece := func(c float64) (i int, t float64) {
		i = min(max(sort.SearchFloat64s(knots, c), 1), n-1)
		return i, (c - knots[i-1]) / (knots[i] - knots[i-1])
	}
	return &Shape{
		Name: Free, Called: "a curve through the level means", Formula: "straight between the levels", Params: n, Linear: true, Positive: -1,
		At: func(p []float64, c float64) float64 {
			i, t := piece(c)
			return p[i-1] + t*(p[i]-p[i-1])
		},
		Slope: func(p []float64, c float64) float64 {
			i, _ := piece(c)
			return (p[i] - p[i-1]) / (knots[i] - knots[i-1])
		},
	}
}
