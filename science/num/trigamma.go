package num

// Trigamma is ψ′(x) for x > 0, the variance of the logarithm of a gamma variable of shape x:
// ψ′(x) = ψ′(x + 1) + 1/x² up to x ≥ 8, then Abramowitz and Stegun 6.4.12; good to 1e-10 relatively.
func Trigamma(x float64) float64 {
	sum := 0.0
	for x < 8 {
		sum += 1 / (x * x)
		x++
	}
	y := 1 / (x * x)
	return sum + 1/x + y/2 + y/x*(1.0/6-y*(1.0/30-y*(1.0/42-y*(1.0/30-y*5/66))))
}
