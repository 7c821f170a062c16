package num

import "math"

// householder is the QR decomposition of a matrix held by columns, A = Q·R,
// with Q kept as reflections. Rows must not be fewer than columns.
type householder struct {
	v    [][]float64 // v[j]: reflection j, from row j down, v[j][0..j-1] unused
	beta []float64   // 2/|v|²
	r    [][]float64 // r[j]: column j of R, rows 0 … j
}

func newHouseholder(columns [][]float64) *householder {
	n := len(columns)
	q := &householder{v: make([][]float64, n), beta: make([]float64, n), r: make([][]float64, n)}
	for j, col := range columns {
		c := append([]float64(nil), col...)
		for k := range j {
			q.reflect(k, c)
		}
		norm := norm2(c[j:])
		q.r[j] = append([]float64(nil), c[:j+1]...)
		alpha := -math.Copysign(norm, c[j])
		q.r[j][j] = alpha
		c[j] -= alpha
		q.v[j] = c
		if s := norm2(c[j:]); s > 0 {
			q.beta[j] = 2 / s / s
		}
	}
	return q
}

func (q *householder) reflect(k int, c []float64) {
	v := q.v[k]
	s := 0.0
	for i := k; i < len(c); i++ {
		s += v[i] * c[i]
	}
	s *= q.beta[k]
	for i := k; i < len(c); i++ {
		c[i] -= s * v[i]
	}
}

// mulQT and mulQ turn c into Qᵀc and Qc.
func (q *householder) mulQT(c []float64) {
	for k := range q.v {
		q.reflect(k, c)
	}
}

func (q *householder) mulQ(c []float64) {
	for k := len(q.v) - 1; k >= 0; k-- {
		q.reflect(k, c)
	}
}

// solveR and solveRT turn the first len(R) numbers of c into R⁻¹c and R⁻ᵀc.
func (q *householder) solveR(c []float64) {
	for j := len(q.r) - 1; j >= 0; j-- {
		c[j] /= q.r[j][j]
		for i := range j {
			c[i] -= q.r[j][i] * c[j]
		}
	}
}

func (q *householder) solveRT(c []float64) {
	for j := range q.r {
		for i := range j {
			c[j] -= q.r[j][i] * c[i]
		}
		c[j] /= q.r[j][j]
	}
}

// norm2 is the Euclidean length, safe against overflow.
func norm2(v []float64) float64 {
	big := 0.0
	for _, x := range v {
		big = max(big, math.Abs(x))
	}
	if big == 0 || math.IsInf(big, 0) || math.IsNaN(big) {
		return big
	}
	s := 0.0
	for _, x := range v {
		s += x / big * (x / big)
	}
	return big * math.Sqrt(s)
}
