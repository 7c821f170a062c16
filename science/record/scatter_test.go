package record

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// tDraws are draws from a multivariate t about 10, 20, …: normals, of which neighbours share
// a half, over the root of one χ² ÷ its degrees of freedom, each level in a unit of its own.
func tDraws(levels, count int, df float64, task uint64) [][]float64 {
	rng := num.Source(61, uint64(levels), task)
	draws := make([][]float64, count)
	for k := range draws {
		s := math.Sqrt(df / num.ChiSquareQuantile(rng.Float64(), df))
		draws[k] = make([]float64, levels)
		last := rng.NormFloat64()
		for i := range draws[k] {
			next := rng.NormFloat64()
			draws[k][i] = float64(i+1) * (10 + s*(next+last)/math.Sqrt2)
			last = next
		}
	}
	return draws
}

// Draws from a t give its degrees of freedom and its matrix back, of tails so long that
// they have hardly a variance too.
func TestScatterOfT(t *testing.T) {
	for _, levels := range []int{3, 8} {
		for _, want := range []float64{2.2, 3, 5, 8, 15, 40} {
			s, df := scatterOf(tDraws(levels, 4000, want, 0))
			if !(math.Abs(1/df-1/want) <= 0.06) { // the quantiles of 4,000 draws say no more
				t.Errorf("%d levels: %.1f degrees of freedom, want %g", levels, df, want)
			}
			for i := range s {
				for j := range s {
					unit, right := float64(i+1)*float64(j+1), 0.0
					switch i - j {
					case 0:
						right = 1
					case 1, -1:
						right = 0.5
					}
					if got := s[i][j] / unit; !(math.Abs(got-right) <= 0.1) {
						t.Errorf("%d levels, %g degrees of freedom: s[%d][%d] = %.3f, want %g", levels, want, i, j, got, right)
					}
				}
			}
		}
	}
}

// What likeT finds is weighed by its own distances: the equations of its comment hold for it, of draws with tails whose covariance is another.
func TestLikeT(t *testing.T) {
	const levels = 3
	draws := tDraws(levels, 300, 2.2, 1)
	s, dist := likeT(draws)
	total, mean := 0.0, make([]float64, levels)
	for k, d := range draws {
		w := (3 + levels) / (3 + dist[k])
		total += w
		for i, x := range d {
			mean[i] += w * x
		}
	}
	for i := range levels {
		for j := range levels {
			v := 0.0
			for k, d := range draws {
				v += (3 + levels) / (3 + dist[k]) * (d[i] - mean[i]/total) * (d[j] - mean[j]/total)
			}
			scale := math.Sqrt(s[i][i] * s[j][j])
			near(t, "S", s[i][j]/scale, v/total/scale, 2e-4)
		}
	}
	if c := Covariance(draws); !(c[0][0] > 2*s[0][0]) {
		t.Errorf("a variance of %v beside %v: this shows nothing", c[0][0], s[0][0])
	}
}
