package assess_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"knownwater/science/num"
)

// TestStockAndBackgroundAreTwoErrors: knowns made from one stock of ± 2 % in one water of ± 0.5, read by a display that has
// next to no scatter. Slope and intercept are as doubtful as an independent Monte Carlo of the making says (JCGM 101: stock
// and water drawn, the knowns mixed from them, a line laid through what they hold), and as what cancels in a line through two
// of them: the slope has the stock's 2 %, the intercept the water's 0.5. Told as one error they would be all but exact.
func TestStockAndBackgroundAreTwoErrors(t *testing.T) {
	const stock, water, own = 0.02, 0.5, 0.002
	for _, levels := range [][]float64{{0, 10}, {0, 1, 2, 5, 10, 20}} {
		var with, one [][]any
		rng := rand.New(rand.NewPCG(4, uint64(len(levels))))
		for _, c := range levels {
			u := math.Sqrt(math.Pow(stock*c, 2) + water*water + math.Pow(own*c, 2))
			for range 6 {
				y := fmt.Sprintf("%.3f", c+1+0.004*rng.NormFloat64())
				with = append(with, []any{"Meter", c + 1, u, stock * c, water, y})
				one = append(one, []any{"Meter", c + 1, u, math.Hypot(stock*c, water), 0, y})
			}
		}
		slope, intercept := madeAtRandom(levels, stock, water, own)
		line := assessed(t, table("method,level,u_level,u_shared,u_background,reading", with...), "", "").Methods[0].Line
		near := func(what string, got, want float64) {
			t.Helper()
			if !(math.Abs(got/want-1) <= 0.05) {
				t.Errorf("%d knowns: %s %.4g, by Monte Carlo %.4g", len(levels), what, got, want)
			}
		}
		near("doubt of the slope", float64(line.SlopeSE), slope)
		near("doubt of the intercept", float64(line.InterceptSE), intercept)
		if told := assessed(t, table("method,level,u_level,u_shared,u_background,reading", one...), "", "").Methods[0].Line; !(float64(told.SlopeSE) < slope/2) {
			t.Errorf("%d knowns: as one error the doubt of the slope is %.4g: no test", len(levels), float64(told.SlopeSE))
		}
	}
}

// madeAtRandom is how a slope and an intercept scatter over knowns that are made again and again: least squares by what the
// knowns are told to share.
func madeAtRandom(levels []float64, stock, water, own float64) (slope, intercept float64) {
	rng := rand.New(rand.NewPCG(9, 9))
	n := len(levels)
	x, v := make([][]float64, n), make([][]float64, n)
	for i, a := range levels {
		x[i], v[i] = []float64{1, a + 1}, make([]float64, n)
		for j, b := range levels {
			v[i][j] = stock*stock*a*b + water*water
		}
		v[i][i] += own * own * a * a
		v[i][i] += 0.004 * 0.004 / 6
	}
	var slopes, intercepts []float64
	for range 4000 {
		strength, background := 1000*(1+stock*rng.NormFloat64()), 1+water*rng.NormFloat64()
		y := make([]float64, n)
		for i, c := range levels {
			part := c / (1000 - 1) // of the stock in 1 L of the whole, so that it is said to hold c + 1
			y[i] = strength*part + background*(1-part) + own*c*rng.NormFloat64() + 0.004/math.Sqrt(6)*rng.NormFloat64()
		}
		fit, err := num.GLS(x, y, v)
		if err != nil {
			panic(err)
		}
		slopes, intercepts = append(slopes, fit.Coef[1]), append(intercepts, fit.Coef[0])
	}
	_, slope = num.MeanSD(slopes)
	_, intercept = num.MeanSD(intercepts)
	return slope, intercept
}
