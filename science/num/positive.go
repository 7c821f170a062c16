package num

// Positive is a symmetric and positive definite matrix V, taken apart once so that V·x = c
// can be solved for one column c after another: V = L·Lᵀ (Cholesky, in Benoît, Bull. géod. 2 (1924) 67).
type Positive struct{ l cholesky }

// NewPositive takes V apart. The error is ErrNotPositive where V is no covariance.
func NewPositive(v [][]float64) (Positive, error) {
	l, err := newCholesky(v)
	return Positive{l}, err
}

// Solve is x of V·x = c.
func (p Positive) Solve(c []float64) []float64 { return p.l.solve(c) }
