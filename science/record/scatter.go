package record

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// scatterOf is how draws of several quantities lie about their centre: the matrix S and the degrees of
// freedom ν of a t distribution like them, whose covariance is ν/(ν − 2)·S.
//
// S has the shape that likeT finds. ν is that at which the 90 % point of n·F(n, ν) is as many times its middle as that
// of the squared distances from the centre is; the ratio falls with ν. S is multiplied by what makes the middles the same.
//
// nil, and no end of degrees of freedom, where the draws are no numbers.
func scatterOf(draws [][]float64) (s [][]float64, df float64) {
	s, dist := likeT(draws)
	if s == nil {
		return nil, math.Inf(1)
	}
	q, n := num.QuantilesOf(dist, 0.5, 0.9), float64(len(s))
	df, most := leastDF, 400.0
	for range 40 {
		if mid := math.Sqrt(df * most); num.FQuantile(0.9, n, mid)/num.FQuantile(0.5, n, mid) > q[1]/q[0] {
			df = mid
		} else {
			most = mid
		}
	}
	scale := q[0] / (n * num.FQuantile(0.5, n, df))
	if !(scale > 0) { // draws that are all alike
		return s, df
	}
	for i := range s {
		for j := range s[i] {
			s[i][j] *= scale
		}
	}
	return s, df
}

// leastDF keeps a variance in being.
const leastDF = 2.2

// likeT is the matrix that is most likely where draws come from a t with 3 degrees of freedom, and the draws' squared
// distances in its units, by the iteration of J. T. Kent, D. E. Tyler & Y. Vardi (Commun. Stat. Simul. Comput. 23 (1994) 441),
//
//	w_k = (3 + n)/(3 + d_k²),  x̄ = Σ w x/Σ w,  S = Σ w (x − x̄)(x − x̄)ᵀ/Σ w,  d² = (x − x̄)ᵀS⁻¹(x − x̄).
//
// Its shape is the right one of draws of any tails that are alike in all directions. Their covariance has it too, but of
// means that few readings tell it hangs on the few draws that lie furthest out: two walks through the same
// posterior had lines of other slopes for it.
func likeT(draws [][]float64) (s [][]float64, dist []float64) {
	const tails, enough, most = 3.0, 1e-4, 50
	n, weight := len(draws[0]), slices.Repeat([]float64{1}, len(draws))
	centre, s := weighted(draws, weight, 1)
	for range most {
		if dist = distances(draws, centre, s); dist == nil {
			return nil, nil
		}
		for k, d := range dist {
			weight[k] = (tails + float64(n)) / (tails + d)
		}
		last, moved := s, 0.0
		centre, s = weighted(draws, weight, 0)
		for i := range s {
			moved = math.Max(moved, math.Abs(math.Log(s[i][i]/last[i][i])))
		}
		if moved < enough {
			break
		}
	}
	if dist = distances(draws, centre, s); dist == nil {
		return nil, nil
	}
	return s, dist
}

// Covariance of equally weighted draws, [draw][quantity].
func Covariance(draws [][]float64) [][]float64 {
	_, v := weighted(draws, slices.Repeat([]float64{1}, len(draws)), 1)
	return v
}

// weighted are the mean and the covariance of draws that count by their weights; less is taken off the
// sum of these where squares are divided by it.
func weighted(draws [][]float64, weight []float64, less float64) (mean []float64, v [][]float64) {
	n, total := len(draws[0]), 0.0
	for _, w := range weight {
		total += w
	}
	mean, v = make([]float64, n), make([][]float64, n)
	for k, d := range draws {
		for i, x := range d {
			mean[i] += weight[k] * x / total
		}
	}
	for i := range v {
		v[i] = make([]float64, n)
	}
	for k, d := range draws {
		for i := range n {
			for j := range i + 1 {
				v[i][j] += weight[k] * (d[i] - mean[i]) * (d[j] - mean[j]) / (total - less)
			}
		}
	}
	for i := range n {
		v[i][i] *= 1 + 1e-9 // keeps draws of exact readings positive definite
		v[i][i] += 1e-300
		for j := range i {
			v[j][i] = v[i][j]
		}
	}
	return mean, v
}

// distances are the squared distances of draws from a centre in units of v,
// (x − centre)ᵀv⁻¹(x − centre); nil where v cannot be inverted.
func distances(draws [][]float64, centre []float64, v [][]float64) []float64 {
	unit := make([][]float64, len(v))
	for j := range unit {
		unit[j] = make([]float64, len(v))
		unit[j][j] = 1
	}
	root, _, err := num.Whitened(v, unit) // [column][row] of L⁻¹, v = L·Lᵀ
	if err != nil {
		return nil
	}
	out := make([]float64, len(draws))
	for k, d := range draws {
		for i := range v {
			z := 0.0
			for j := range i + 1 {
				z += root[j][i] * (d[j] - centre[j])
			}
			out[k] += z * z
		}
	}
	return out
}
