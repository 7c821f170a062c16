package num

import "math"

// WelchSatterthwaite is the effective number of degrees of freedom of a combined
// variance Σ v_i whose parts v_i (squared contributions to the uncertainty) have
// df_i each: (Σv)² / Σ(v_i²/df_i); JCGM 100:2008, G.4. Parts with infinite df are
// taken as known; +Inf where all are, NaN where a part is negative or there is
// nothing to combine.
func WelchSatterthwaite(v, df []float64) float64 {
	if len(v) == 0 || len(df) != len(v) {
		return math.NaN()
	}
	sum, below := 0.0, 0.0
	for i := range v {
		if !(v[i] >= 0) || !(df[i] > 0) {
			return math.NaN()
		}
		sum += v[i]
		below += v[i] / df[i] * v[i]
	}
	if sum == 0 {
		return math.NaN()
	}
	return sum / below * sum
}
