package errorpart

import "math"

// CommonFactor is the one shared error that comes nearest to the covariances of
// some errors of the results: signed sizes s with s[i]·s[j] ≈ cov[i][j] for
// i ≠ j, and |s[i]| at most √cov[i][i]. u are the whole uncertainties of the
// results, other errors in them.
//
// With l[i] = s[i]/u[i] and ρ[i][j] = cov[i][j]/(u[i]·u[j]) it minimises
// Σ_{i≠j} (ρ[i][j] − l[i]·l[j])², so that results with small uncertainties count
// like the others, by going through the results in turn, l[i] = Σ ρ[i][j]·l[j] /
// Σ l[j]² over j ≠ i, held within ± √ρ[i][i] (each step can only lower the sum, so it settles),
// from the result that correlates most. misfit is the largest |ρ[i][j] −
// l[i]·l[j]|: 0 where one error explains everything that is shared, as with a
// single stock and an exact background. The sign is chosen so that the sum of
// s is not negative. A result without uncertainty shares nothing.
func CommonFactor(cov [][]float64, u []float64) (s []float64, misfit float64) {
	n := len(cov)
	s = make([]float64, n)
	if n < 2 {
		return s, 0
	}
	rho := correlations(cov, u)
	l := append([]float64(nil), rho[mostShared(rho)]...)
	for range 1000 {
		moved := 0.0
		for i := range l {
			next := bestLoading(rho, l, i)
			moved = math.Max(moved, math.Abs(next-l[i]))
			l[i] = next
		}
		if moved < 1e-12 {
			break
		}
	}
	sum := 0.0
	for i := range s {
		s[i] = l[i] * u[i]
		sum += s[i]
	}
	if sum < 0 {
		for i := range s {
			s[i] = -s[i]
		}
	}
	return s, misfitOf(rho, l)
}

// correlations are 0 where a result has no uncertainty.
func correlations(cov [][]float64, u []float64) [][]float64 {
	rho := make([][]float64, len(cov))
	for i := range rho {
		rho[i] = make([]float64, len(cov))
		for j := range rho {
			if u[i] > 0 && u[j] > 0 {
				rho[i][j] = cov[i][j] / (u[i] * u[j])
			}
		}
	}
	return rho
}

func mostShared(rho [][]float64) int {
	best, most := 0, -1.0
	for i := range rho {
		sum := 0.0
		for j := range rho {
			if j != i {
				sum += math.Abs(rho[i][j])
			}
		}
		if sum > most {
			best, most = i, sum
		}
	}
	return best
}

func bestLoading(rho [][]float64, l []float64, i int) float64 {
	over, under := 0.0, 0.0
	for j := range l {
		if j != i {
			over += rho[i][j] * l[j]
			under += l[j] * l[j]
		}
	}
	if under == 0 {
		return 0
	}
	most := math.Sqrt(math.Max(0, rho[i][i]))
	return math.Max(-most, math.Min(most, over/under))
}

func misfitOf(rho [][]float64, l []float64) float64 {
	worst := 0.0
	for i := range l {
		for j := range l {
			if i != j {
				worst = math.Max(worst, math.Abs(rho[i][j]-l[i]*l[j]))
			}
		}
	}
	return worst
}
