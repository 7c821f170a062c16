package num

// SolvePositive solves V·x = c for each of the columns c, V symmetric and positive
// definite, by V = L·Lᵀ (Cholesky, in Benoît, Bull. géod. 2 (1924) 67). The error is
// ErrNotPositive where V is no covariance.
func SolvePositive(v [][]float64, columns [][]float64) ([][]float64, error) {
	l, err := newCholesky(v)
	if err != nil {
		return nil, err
	}
	out := make([][]float64, len(columns))
	for i, c := range columns {
		out[i] = l.solve(c)
	}
	return out, nil
}
