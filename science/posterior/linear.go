package posterior

import "math"

// cholesky factors q in place into its lower triangle.
func cholesky(q []float64, n int) bool {
	for i := range n {
		for j := range i + 1 {
			s := q[i*n+j] - dot(q[i*n:i*n+j], q[j*n:j*n+j])
			if i == j {
				if !(s > 0) {
					return false
				}
				q[i*n+i] = math.Sqrt(s)
			} else {
				q[i*n+j] = s / q[j*n+j]
			}
		}
	}
	return true
}

func solveLower(q []float64, n int, b []float64) {
	for i := range n {
		b[i] = (b[i] - dot(q[i*n:i*n+i], b[:i])) / q[i*n+i]
	}
}

func solveUpper(q []float64, n int, b []float64) {
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			b[i] -= q[k*n+i] * b[k]
		}
		b[i] /= q[i*n+i]
	}
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}
