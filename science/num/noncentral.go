package num

import "math"

// NoncentralTCDF is P(T ≤ t) for the non-central t distribution with df degrees
// of freedom and non-centrality delta: T = (Z + δ)/√(χ²/df).
//
// It integrates P(Z ≤ t·s − δ) over the distribution of s = √(χ²/df) by the
// trapezoidal rule in log s, which converges faster than any power of the step
// for such a smooth, bell-shaped integrand. It is meant for df from 0.5 to 1e8 and |t|, |δ| up to
// 1e3, to about 1e-13 absolute; where it would take millions of points (tiny
// df, huge t) it is NaN.
func NoncentralTCDF(t, df, delta float64) float64 {
	if math.IsNaN(t+delta) || !(df >= leastDF) {
		return math.NaN()
	}
	if math.IsInf(df, 1) || math.IsInf(t, 0) {
		return Phi(t - delta)
	}
	// With v = log s the density of v is proportional to exp(df·(v − e^2v/2 + ½)),
	// at most 1 at v = 0. It falls off to the left like exp(df·v), to the right
	// like exp(−df·e^2v/2). The step also has to follow Φ, whose rise is 1/t wide.
	step := min(0.05, 0.25/math.Sqrt(df), 0.35/(1+math.Abs(t)))
	if steps := (42/df + 5) / step; !(steps < 5e6) {
		return math.NaN()
	}
	var sum, mass Sum
	for _, side := range [2]float64{1, -1} {
		for i := 0; ; i++ {
			if i == 0 && side < 0 {
				continue
			}
			v := side * float64(i) * step
			logf := df * (v - math.Expm1(2*v)/2)
			if logf < -42 {
				break
			}
			f := math.Exp(logf)
			mass.Add(f)
			sum.Add(f * Phi(t*math.Exp(v)-delta))
		}
	}
	return sum.Value() / mass.Value()
}

// NoncentralTDelta is the non-centrality δ at which P(T ≤ t) = p: with
// t = TQuantile(1−α, df) and p = β it is the δ(α, β, df) of detection limits
// (ISO 11843-2:2000).
func NoncentralTDelta(p, t, df float64) float64 {
	if !(p > 0 && p < 1) || math.IsNaN(t) || !(df >= leastDF) {
		return math.NaN()
	}
	off := func(d float64) float64 { return NoncentralTCDF(t, df, d) - p }
	lo, hi := t-1, t+1
	for range 60 {
		if off(lo) > 0 {
			break
		}
		lo -= hi - lo
	}
	for range 60 {
		if off(hi) < 0 {
			break
		}
		hi += hi - lo
	}
	d, err := Root(off, lo, hi, 1e-13)
	if err != nil {
		return math.NaN()
	}
	return d
}
