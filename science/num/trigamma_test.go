package num

import (
	"math"
	"testing"
)

// Closed forms: ψ′(1) = π²/6, ψ′(1/2) = π²/2, ψ′(1/4) = π² + 8·G with Catalan's constant
// G = 0.915965594177219, and ψ′(n + 1) = π²/6 − Σ 1/k² (Abramowitz and Stegun 6.4.2 to 6.4.5).
func TestTrigamma(t *testing.T) {
	third := math.Pi * math.Pi / 6
	for _, c := range []struct{ x, want float64 }{
		{1, third}, {0.5, math.Pi * math.Pi / 2}, {0.25, math.Pi*math.Pi + 8*0.915965594177219},
		{4, third - 1 - 0.25 - 1.0/9}, {11, third - 1.5497677311665408}, {1e6, 1e-6 + 0.5e-12},
	} {
		if got := Trigamma(c.x); !(math.Abs(got-c.want) <= 1e-10*c.want) {
			t.Errorf("ψ′(%v) = %v, want %v", c.x, got, c.want)
		}
	}
}
