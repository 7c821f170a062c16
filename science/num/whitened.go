package num

import "math"

// Whitened are columns c of n values as L⁻¹·c, with L·Lᵀ = v (Cholesky, as in Positive): errors
// of covariance v become independent with variance 1. logDet is ln det v. The error is
// ErrNotPositive where v is no covariance.
func Whitened(v [][]float64, columns [][]float64) (out [][]float64, logDet float64, err error) {
	l, err := newCholesky(v)
	if err != nil {
		return nil, 0, err
	}
	var sum Sum
	for i := range l {
		sum.Add(2 * math.Log(l[i][i]))
	}
	for _, c := range columns {
		out = append(out, l.whiten(c))
	}
	return out, sum.Value(), nil
}
