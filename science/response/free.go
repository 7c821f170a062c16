package response

import "sort"

// FreeOn goes through its coefficients, one at each of the rising knots; between neighbours it is
// as free as what is put into it, so it never needs a search.
//
// Between two knots it is the cubic of Hermite with the slopes of F. N. Fritsch and J. Butland (SIAM J. Sci.
// Stat. Comput. 5 (1984) 300), held to those of gonum’s interp in a test: at a knot a harmonic mean of the slopes of the chords on
// both sides, h the widths of the pieces,
//
//	(w + v)/(w/δ₋ + v/δ₊),  w = 2h₊ + h₋,  v = h₊ + 2h₋,
//
// and 0 where one of the chords does not rise; at the ends that of the parabola through three
// knots, at least 0. It rises wherever its coefficients do, and what is straight stays so. Chords
// themselves lie below every response that flattens off: between the knowns of one, samples were taken for
// more than they were. But a piece at whose ends it would bend to both sides stays its chord: that is how means scatter
// about a straight line, and a curve through them is flat in places where the line is not. Beyond the knots the chords of the end pieces go on.
//
// After the knots' coefficients may follow one for each piece, by how much it bends: 0 is its chord, 1 the cubic, to whichever
// sides, and more what bends more. The slopes at its ends stay between 0 and three times the chord's, so that it rises
// (F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238).
func FreeOn(knots []float64) *Shape {
	n := len(knots)
	width := func(i int) float64 { return knots[i+1] - knots[i] }
	chord := func(p []float64, i int) float64 { return (p[i+1] - p[i]) / width(i) }
	end := func(p []float64, i, next int) float64 { // piece i ends the curve, next is its neighbour
		h, g := width(i), width(next)
		return max(0, ((2*h+g)*chord(p, i)-h*chord(p, next))/(h+g))
	}
	slope := func(p []float64, k int) float64 {
		switch {
		case n == 2:
			return chord(p, 0)
		case k == 0:
			return end(p, 0, 1)
		case k == n-1:
			return end(p, n-2, n-3)
		}
		before, after := chord(p, k-1), chord(p, k)
		if before <= 0 || after <= 0 {
			return 0
		}
		w, v := 2*width(k)+width(k-1), width(k)+2*width(k-1)
		return (w + v) / (w/before + v/after)
	}
	// bends is how the curve bends at an inner knot: up, down, or 0 at an end.
	bends := func(p []float64, k int) float64 {
		if k == 0 || k == n-1 {
			return 0
		}
		return chord(p, k) - chord(p, k-1)
	}
	// ends are the slopes at the ends of piece i, less the chord's d.
	ends := func(p []float64, i int, d float64) (left, right float64) {
		bend := 1.0
		switch {
		case len(p) > n:
			bend = p[n+i]
		case bends(p, i)*bends(p, i+1) < 0:
			return 0, 0
		}
		keep := func(off float64) float64 { return min(max(bend*off, -d), 2*d) }
		return keep(slope(p, i) - d), keep(slope(p, i+1) - d)
	}
	piece := func(c float64) (i int, t float64) {
		i = min(max(sort.SearchFloat64s(knots, c), 1), n-1) - 1
		return i, (c - knots[i]) / width(i)
	}
	return &Shape{
		Name: Free, Called: "a curve through the level means", Formula: "a monotone cubic between the levels", Params: n, Linear: true, Positive: -1,
		At: func(p []float64, c float64) float64 {
			i, t := piece(c)
			on := p[i] + t*(p[i+1]-p[i])
			if t < 0 || t > 1 {
				return on
			}
			left, right := ends(p, i, chord(p, i))
			return on + width(i)*t*(1-t)*((1-t)*left-t*right)
		},
		Slope: func(p []float64, c float64) float64 {
			i, t := piece(c)
			d := chord(p, i)
			if t < 0 || t > 1 {
				return d
			}
			left, right := ends(p, i, d)
			return d + (1-t)*(1-3*t)*left - t*(2-3*t)*right
		},
	}
}
