package record

import (
	"math"

	"knownwater/science/num"
)

// scatterOf is how draws of several quantities lie about their centre: the matrix S and the degrees of
// freedom ν of a t distribution like them, whose covariance is ν/(ν − 2)·S.
//
// S has the shape that is most likely where the draws come from a t with 3 degrees of freedom, by the
// iteration of J. T. Kent, D. E. Tyler & Y. Vardi (Commun. Stat. Simul. Comput. 23 (1994) 441),
//
//	w_k = (3 + n)/(3 + d_k²),  x̄ = Σ w x/Σ w,  S = Σ w (x − x̄)(x − x̄)ᵀ/Σ w,  d² = (x − x̄)ᵀS⁻¹(x − x̄),
//
// and the right one of draws of any tails that are alike in all directions. Their covariance has it too, but of means that
// few readings tell it hangs on the few draws that lie furthest out: two walks through the same
// posterior had lines of other slopes for it.
//
// ν is that at which the 90 % point of n·F(n, ν) is as many times its middle as that of d² is; the
// ratio falls with ν. S is multiplied by what makes the middles the same.
//
// nil, and no end of degrees of freedom, where the draws are no numbers.
func scatterOf(draws [][]float64) (s [][]float64, df float64) {
	const tails, enough, most = 3.0, 1e-4, 50
	n := len(draws[0])
	s, centre := Covariance(draws), make([]float64, n)
	for _, d := range draws {
		for i, v := range d {
			centre[i] += v / float64(len(draws))
		}
	}
	dist, w := make([]float64, len(draws)), make([]float64, n)
	for range most {
		if !distances(draws, centre, s, dist) {
			return nil, math.Inf(1)
		}
		next, total := make([]float64, n), 0.0
		v := make([][]float64, n)
		for i := range v {
			v[i] = make([]float64, n)
		}
		for k, d := range draws {
			weight := (tails + float64(n)) / (tails + dist[k])
			total += weight
			for i := range n {
				w[i] = d[i] - centre[i]
				next[i] += weight * w[i]
			}
			for i := range n {
				for j := range i + 1 {
					v[i][j] += weight * w[i] * w[j]
				}
			}
		}
		moved := 0.0
		for i := range n {
			next[i] /= total
		}
		for i := range n {
			for j := range i + 1 {
				v[i][j] = v[i][j]/total - next[i]*next[j]
			}
			v[i][i] = v[i][i]*(1+1e-9) + 1e-300
			moved = math.Max(moved, math.Abs(math.Log(v[i][i]/s[i][i])))
			centre[i] += next[i]
		}
		for i := range n {
			for j := range i {
				v[j][i] = v[i][j]
			}
		}
		s = v
		if moved < enough {
			break
		}
	}
	if !distances(draws, centre, s, dist) {
		return nil, math.Inf(1)
	}
	q := num.QuantilesOf(dist, 0.5, 0.9)
	df = fallingTo(q[1]/q[0], func(df float64) float64 {
		return num.FQuantile(0.9, float64(n), df) / num.FQuantile(0.5, float64(n), df)
	})
	scale := q[0] / (float64(n) * num.FQuantile(0.5, float64(n), df))
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

// fallingTo is the number of degrees of freedom, up to 400, at which ratio has fallen to at.
func fallingTo(at float64, ratio func(df float64) float64) float64 {
	lo, hi := leastDF, 400.0
	for range 40 {
		if mid := math.Sqrt(lo * hi); ratio(mid) > at {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// distances fills in the squared distances of draws from a centre in units of v,
// (x − centre)ᵀv⁻¹(x − centre); false where v cannot be inverted.
func distances(draws [][]float64, centre []float64, v [][]float64, out []float64) bool {
	n := len(centre)
	root := make([][]float64, n)
	for i := range n { // Cholesky
		root[i] = make([]float64, n)
		for j := range i + 1 {
			s := v[i][j]
			for k := range j {
				s -= root[i][k] * root[j][k]
			}
			if i == j {
				if !(s > 0) {
					return false
				}
				root[i][i] = math.Sqrt(s)
			} else {
				root[i][j] = s / root[j][j]
			}
		}
	}
	w := make([]float64, n)
	for k, d := range draws {
		out[k] = 0
		for i := range n {
			s := d[i] - centre[i]
			for j := range i {
				s -= root[i][j] * w[j]
			}
			w[i] = s / root[i][i]
			out[k] += w[i] * w[i]
		}
	}
	return true
}
