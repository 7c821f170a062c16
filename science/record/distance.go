package record

import "math"

// Distances are the squared distances of draws from their centre in units of
// their covariance, (x − x̄)ᵀV⁻¹(x − x̄); nil where V cannot be inverted.
func Distances(draws [][]float64) []float64 {
	n := len(draws[0])
	v := Covariance(draws)
	for i := range n { // Cholesky, in place
		for j := range i + 1 {
			s := v[i][j]
			for k := range j {
				s -= v[i][k] * v[j][k]
			}
			if i == j {
				if !(s > 0) {
					return nil
				}
				v[i][i] = math.Sqrt(s)
			} else {
				v[i][j] = s / v[j][j]
			}
		}
	}
	mean := make([]float64, n)
	for _, d := range draws {
		for i, x := range d {
			mean[i] += x / float64(len(draws))
		}
	}
	out := make([]float64, len(draws))
	w := make([]float64, n)
	for k, d := range draws {
		for i := range n {
			s := d[i] - mean[i]
			for j := range i {
				s -= v[i][j] * w[j]
			}
			w[i] = s / v[i][i]
			out[k] += w[i] * w[i]
		}
	}
	return out
}
