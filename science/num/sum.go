package num

import "math"

// Sum adds numbers and carries along what each addition rounds away
// (Neumaier 1974, Z. Angew. Math. Mech. 54, 39). The zero value is 0.
type Sum struct{ s, c float64 }

// Add adds v.
func (k *Sum) Add(v float64) {
	t := k.s + v
	if math.Abs(k.s) >= math.Abs(v) {
		k.c += (k.s - t) + v
	} else {
		k.c += (v - t) + k.s
	}
	k.s = t
}

// AddProduct adds a·b without rounding the product.
func (k *Sum) AddProduct(a, b float64) {
	p := a * b
	k.Add(p)
	k.c += math.FMA(a, b, -p)
}

// Value is the sum.
func (k *Sum) Value() float64 {
	if math.IsInf(k.s, 0) {
		return k.s
	}
	return k.s + k.c
}

// Dot is Σ ab, as AddProduct sums it.
func Dot(a, b []float64) float64 {
	var k Sum
	for i := range a {
		k.AddProduct(a[i], b[i])
	}
	return k.Value()
}

// Bilinear is aᵀ·m·b, plainly summed.
func Bilinear(a []float64, m [][]float64, b []float64) float64 {
	s := 0.0
	for i := range m {
		for j := range m[i] {
			s += a[i] * m[i][j] * b[j]
		}
	}
	return s
}
