package num

import (
	"errors"
	"fmt"
	"math"
)

// ErrRank says that the columns of a design do not determine the coefficients:
// one of them is (nearly) a combination of those before it.
var ErrRank = errors.New("the design cannot tell its columns apart")

// twofold is a number in two parts, value + rest, of about 32 digits.
type twofold struct{ hi, lo float64 }

func twoProduct(a, b float64) twofold {
	p := a * b
	return twofold{p, math.FMA(a, b, -p)}
}

// times multiplies a twofold number by b.
func (x twofold) times(b float64) twofold {
	p := twoProduct(x.hi, b)
	p.lo = math.FMA(x.lo, b, p.lo)
	s := p.hi + p.lo
	return twofold{s, p.lo - (s - p.hi)}
}

// augmented solves the least-squares system
//
//	r + A·x = b,  Aᵀ·r = g
//
// (g = 0 for ordinary least squares) by Householder QR and iterative refinement
// of x and r together, the remainders taken in twofold precision (Å. Björck
// 1967, BIT 7, 257). A itself is held twofold, so powers and square roots of
// weights enter without being rounded to one number first. Each pass wins as many
// digits as the first solution had; x and r end correct to the last digit or two
// unless the columns are dependent to working precision.
type augmented struct {
	hi, lo [][]float64 // columns of A, scaled
	exp    []int       // column j was multiplied by 2^exp[j]
	qr     *householder
}

func newAugmented(columns [][]twofold) (*augmented, error) {
	n := len(columns)
	s := &augmented{hi: make([][]float64, n), lo: make([][]float64, n), exp: make([]int, n)}
	for j, c := range columns {
		s.hi[j], s.lo[j] = make([]float64, len(c)), make([]float64, len(c))
		for i, x := range c {
			s.hi[j][i] = x.hi
		}
		norm := norm2(s.hi[j])
		if norm == 0 || math.IsNaN(norm) || math.IsInf(norm, 0) {
			return nil, fmt.Errorf("column %d has no finite length above 0: %w", j+1, ErrRank)
		}
		_, e := math.Frexp(norm)
		s.exp[j] = -e // a power of two: scaling loses nothing
		for i, x := range c {
			s.hi[j][i], s.lo[j][i] = math.Ldexp(x.hi, -e), math.Ldexp(x.lo, -e)
		}
	}
	s.qr = newHouseholder(s.hi)
	m := len(columns[0])
	for j := range n {
		// |R_jj| is how far column j (of length ½ … 1) lies from the span of those before it
		if !(math.Abs(s.qr.r[j][j]) > 1e-15*math.Sqrt(float64(m))) {
			return nil, fmt.Errorf("column %d depends on those before it: %w", j+1, ErrRank)
		}
	}
	return s, nil
}

// solve returns x (scaled as the columns are) and r. A nil b or g means zeros.
func (s *augmented) solve(b []twofold, g []float64) (x, r []float64, err error) {
	n, m := len(s.hi), len(s.hi[0])
	x, r = make([]float64, n), make([]float64, m)
	f, h := make([]float64, m), make([]float64, n)
	last := math.Inf(1)
	for range 30 {
		s.remainder(f, h, b, g, x, r)
		s.qr.solveRT(h)
		s.qr.mulQT(f)
		dx := make([]float64, n)
		for j := range dx {
			dx[j], f[j] = f[j]-h[j], h[j]
		}
		s.qr.solveR(dx)
		s.qr.mulQ(f)
		change, size := 0.0, 0.0
		for j, d := range dx {
			x[j] += d
			change, size = max(change, math.Abs(d)), max(size, math.Abs(x[j]))
		}
		if change > 0 {
			change /= size
		}
		for i, d := range f {
			r[i] += d
		}
		if change == 0 || change >= last/2 && last < 1e-12 {
			return x, r, nil
		}
		if math.IsNaN(change) {
			break
		}
		last = change
	}
	if last > 1e-9 {
		return nil, nil, fmt.Errorf("refinement does not settle: %w", ErrRank)
	}
	return x, r, nil
}

// remainder sets f = b − r − A·x and h = g − Aᵀ·r.
func (s *augmented) remainder(f, h []float64, b []twofold, g, x, r []float64) {
	for i := range f {
		var k Sum
		if b != nil {
			k.Add(b[i].hi)
			k.Add(b[i].lo)
		}
		k.Add(-r[i])
		for j := range x {
			k.AddProduct(-s.hi[j][i], x[j])
			k.c -= s.lo[j][i] * x[j]
		}
		f[i] = k.Value()
	}
	for j := range h {
		var k Sum
		if g != nil {
			k.Add(g[j])
		}
		for i := range r {
			k.AddProduct(-s.hi[j][i], r[i])
			k.c -= s.lo[j][i] * r[i]
		}
		h[j] = k.Value()
	}
}

// inverseNormal is (XᵀX)⁻¹ for the unscaled columns: column j solves
// AᵀA·z = e_j, which is the augmented system with b = 0 and g = −e_j.
func (s *augmented) inverseNormal() ([][]float64, error) {
	n := len(s.hi)
	inv := make([][]float64, n)
	for j := range n {
		g := make([]float64, n)
		g[j] = -1
		z, _, err := s.solve(nil, g)
		if err != nil {
			return nil, err
		}
		for i := range z {
			z[i] = math.Ldexp(z[i], s.exp[i]+s.exp[j])
		}
		inv[j] = z
	}
	for i := range n {
		for j := range i {
			m := 0.5 * (inv[i][j] + inv[j][i])
			inv[i][j], inv[j][i] = m, m
		}
	}
	return inv, nil
}
