package errorpart

import "math"

// CommonFactor is the one shared error that comes nearest to all the
// covariances of the results: signed sizes s with s[i]·s[j] ≈ cov[i][j] for
// i ≠ j, and |s[i]| at most the whole uncertainty of result i.
//
// It minimises Σ_{i≠j} (cov[i][j] − s[i]·s[j])² by going through the results in
// turn, s[i] = Σ cov[i][j]·s[j] / Σ s[j]² over j ≠ i (each step can only lower
// the sum, so it settles), from the row that covaries most. misfit is the
// largest |cov[i][j] − s[i]·s[j]| over u[i]·u[j]: 0 where one error explains
// everything that is shared, as with a single stock and an exact background.
// The sign is chosen so that the sum of s is not negative.
func CommonFactor(cov [][]float64) (s []float64, misfit float64) {
	n := len(cov)
	s = make([]float64, n)
	if n < 2 {
		return s, 0
	}
	u := make([]float64, n)
	for i := range u {
		u[i] = math.Sqrt(math.Max(0, cov[i][i]))
	}
	start := mostShared(cov)
	for i := range s {
		if i != start && u[start] > 0 {
			s[i] = cov[start][i] / u[start]
		}
	}
	s[start] = u[start]
	for range 500 {
		moved := 0.0
		for i := range s {
			next := bestSize(cov, s, u[i], i)
			moved = math.Max(moved, math.Abs(next-s[i])/math.Max(u[i], math.SmallestNonzeroFloat64))
			s[i] = next
		}
		if moved < 1e-12 {
			break
		}
	}
	return upright(s), misfitOf(cov, s, u)
}

func mostShared(cov [][]float64) int {
	best, most := 0, -1.0
	for i := range cov {
		sum := 0.0
		for j := range cov {
			if j != i {
				sum += math.Abs(cov[i][j])
			}
		}
		if sum > most {
			best, most = i, sum
		}
	}
	return best
}

func bestSize(cov [][]float64, s []float64, limit float64, i int) float64 {
	over, under := 0.0, 0.0
	for j := range s {
		if j != i {
			over += cov[i][j] * s[j]
			under += s[j] * s[j]
		}
	}
	if under == 0 {
		return 0
	}
	return math.Max(-limit, math.Min(limit, over/under))
}

func upright(s []float64) []float64 {
	sum := 0.0
	for _, v := range s {
		sum += v
	}
	if sum < 0 {
		for i := range s {
			s[i] = -s[i]
		}
	}
	return s
}

func misfitOf(cov [][]float64, s, u []float64) float64 {
	worst := 0.0
	for i := range s {
		for j := range s {
			if i != j && u[i]*u[j] > 0 {
				worst = math.Max(worst, math.Abs(cov[i][j]-s[i]*s[j])/(u[i]*u[j]))
			}
		}
	}
	return worst
}
