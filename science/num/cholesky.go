package num

import (
	"errors"
	"fmt"
	"math"
)

// ErrNotPositive says that a matrix offered as a covariance is none.
var ErrNotPositive = errors.New("not a covariance: the matrix is not symmetric and positive definite")

// cholesky is the lower triangle L of a symmetric positive definite V = L·Lᵀ.
type cholesky [][]float64

func newCholesky(v [][]float64) (cholesky, error) {
	l := make(cholesky, len(v))
	for i := range v {
		if len(v[i]) != len(v) {
			return nil, fmt.Errorf("row %d of %d holds %d numbers: %w", i+1, len(v), len(v[i]), ErrNotPositive)
		}
		l[i] = make([]float64, i+1)
		for j := range i + 1 {
			if d := math.Abs(v[i][j] - v[j][i]); !(d <= 1e-9*math.Sqrt(math.Abs(v[i][i]*v[j][j]))) {
				return nil, fmt.Errorf("entries %d,%d and %d,%d differ: %w", i+1, j+1, j+1, i+1, ErrNotPositive)
			}
			var k Sum
			k.Add(v[i][j])
			for t := range j {
				k.AddProduct(-l[i][t], l[j][t])
			}
			if i > j {
				l[i][j] = k.Value() / l[j][j]
				continue
			}
			d := k.Value()
			if !(d > 1e-15*math.Abs(v[i][i])) || math.IsInf(d, 0) {
				return nil, fmt.Errorf("at row %d: %w", i+1, ErrNotPositive)
			}
			l[i][i] = math.Sqrt(d)
		}
	}
	return l, nil
}

// whiten returns L⁻¹·c.
func (l cholesky) whiten(c []float64) []float64 {
	out := make([]float64, len(c))
	for i := range l {
		var k Sum
		k.Add(c[i])
		for t := range i {
			k.AddProduct(-l[i][t], out[t])
		}
		out[i] = k.Value() / l[i][i]
	}
	return out
}

// solve returns V⁻¹·c.
func (l cholesky) solve(c []float64) []float64 {
	out := l.whiten(c)
	for i := len(l) - 1; i >= 0; i-- {
		out[i] /= l[i][i]
		for t := range i {
			out[t] -= l[i][t] * out[i]
		}
	}
	return out
}
