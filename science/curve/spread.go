package curve

import "math"

// Weights says how points of different levels are weighed.
type Weights string

// Fixed weights, and weights from the spread function that replicates show.
const (
	Equal    Weights = "none"
	OverX    Weights = "1/x"
	OverX2   Weights = "1/x2"
	BySpread Weights = "spread" // σ² = σ0² + (κ·net signal)²
)

// variance is the relative variance of one signal along the concentration:
// σ²(c) = S²·v(c).
type variance struct {
	Weights Weights `json:"weights"`
	// 1/x, 1/x²: below Floor, the lowest known above 0, the weight grows no more.
	Floor float64 `json:"floor,omitempty"`
	// spread: v = 1 + (Ratio·net/Full)², net the signal above that at nothing on
	// the curve NetCoef and Full its size at the top.
	Ratio   float64   `json:"ratio,omitempty"`
	Net     Shape     `json:"net,omitempty"`
	NetCoef []float64 `json:"net_coefficients,omitempty"`
	Full    float64   `json:"full,omitempty"`
}

func (v variance) at(c float64) float64 {
	switch v.Weights {
	case OverX:
		return math.Max(c, v.Floor)
	case OverX2:
		x := math.Max(c, v.Floor)
		return x * x
	case BySpread:
		f := formOf(v.Net)
		r := v.Ratio * (f.at(v.NetCoef, c) - f.at(v.NetCoef, 0)) / v.Full
		return 1 + r*r
	}
	return 1
}

func (v variance) of(c []float64) []float64 {
	out := make([]float64, len(c))
	for i := range c {
		out[i] = v.at(c[i])
	}
	return out
}

// ratios are the values of κ·(full signal)/σ0 between which replicates decide.
// Before the points are seen, a spread that does not grow counts twice: with that,
// intervals of simulated curves cover best over spreads that grow and that do
// not (docs/accuracy.md).
var (
	ratios = []float64{0, 0.7, 1.5, 3, 6, 12, 24, 48}
	same   = math.Log(2)
)

// odds is the logarithm of the probability before, up to a constant.
func (v variance) odds() float64 {
	if v.Ratio == 0 {
		return same
	}
	return 0
}

// spreads are the possible spread functions on a first curve.
func spreads(net *form, coef []float64, top float64) []variance {
	full := math.Abs(net.at(coef, top) - net.at(coef, 0))
	var out []variance
	for _, r := range ratios {
		if r > 0 && !(full > 0) {
			break
		}
		out = append(out, variance{Weights: BySpread, Ratio: r, Net: net.shape, NetCoef: coef, Full: full})
	}
	return out
}

// fromReplicates are the probabilities of spread functions by the scatter
// inside levels alone, its overall size integrated out:
//
//	p ∝ Π v_l^(−ν_l/2) · (Σ within_l/v_l)^(−ν/2)
func fromReplicates(lv levels, vs []variance) []float64 {
	logs := make([]float64, len(vs))
	nu := float64(lv.replicates())
	for k, s := range vs {
		v := s.of(lv.c)
		logs[k] = s.odds()
		for l := range v {
			logs[k] -= (lv.n[l] - 1) / 2 * math.Log(v[l])
		}
		logs[k] -= nu / 2 * math.Log(lv.pure(v))
	}
	return masses(logs)
}

// masses are probabilities from their logarithms.
func masses(logs []float64) []float64 {
	most := math.Inf(-1)
	for _, l := range logs {
		most = math.Max(most, l)
	}
	sum := 0.0
	out := make([]float64, len(logs))
	for i, l := range logs {
		if out[i] = math.Exp(l - most); math.IsNaN(out[i]) {
			out[i] = 0
		}
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// expected are relative variances whose weights are the expected precisions
// over the possible spread functions: a choice that does not jump.
func expected(lv levels, vs []variance, mass []float64) []float64 {
	w := make([]float64, lv.count())
	nu := float64(lv.replicates())
	for k, s := range vs {
		v := s.of(lv.c)
		size := lv.pure(v) / nu
		for l := range w {
			w[l] += mass[k] / (size * v[l])
		}
	}
	out := make([]float64, len(w))
	for l := range out {
		out[l] = w[0] / w[l]
	}
	return out
}
