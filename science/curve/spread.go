package curve

import (
	"math"

	"knownwater/science/response"
)

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
		f := response.Of(v.Net)
		r := v.Ratio * (f.At(v.NetCoef, c) - f.At(v.NetCoef, 0)) / v.Full
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
var ratios = []float64{0, 0.7, 1.5, 3, 6, 12, 24, 48}

// A few replicates hardly tell how the scatter grows, so that what was thought of
// it before matters: to a reading near nothing that it is the same everywhere, to one
// near the top that it grows. odds are three such beliefs in each of the ratios.
// The curve itself is drawn with the even one. An interval must satisfy whoever
// holds either of the others: it covers what both of theirs do. Their strength was chosen by
// simulation, for coverage over scatter that grows and that does not
// (docs/accuracy.md).
// Where knowns above the blank were hardly repeated, the last is another: of the few residuals at the top the even
// scatter of a blank, or chance, makes too little (docs/statistics-curves.md).
var odds = struct{ even, steady, growing, once []float64 }{
	even:    []float64{2, 1, 1, 1, 1, 1, 1, 1},
	steady:  []float64{30, 1, 1, 1, 1, 1, 1, 1},
	growing: []float64{0.75, 1.25, 1.56, 1.95, 2.44, 3.05, 3.81, 4.77}, // 1.25^k
	once:    []float64{0.6, 0.96, 1.54, 2.46, 3.93, 6.29, 10.1, 16.1},  // 0.6·1.6^k
}

// chances are probabilities of one weighting under the three beliefs.
type chances struct{ even, steady, growing float64 }

// weighed are the probabilities of weightings whose logarithms of the likelihood are
// given; at is the place of each in ratios. growing are the odds of whoever expects scatter to grow.
func weighed(logs []float64, at []int, growing []float64) []chances {
	under := func(odds []float64) []float64 {
		sum := make([]float64, len(logs))
		for i := range logs {
			sum[i] = logs[i] + math.Log(odds[at[i]])
		}
		return masses(sum)
	}
	even, steady, more := under(odds.even), under(odds.steady), under(growing)
	out := make([]chances, len(logs))
	for i := range out {
		out[i] = chances{even[i], steady[i], more[i]}
	}
	return out
}

// spreads are the possible spread functions on a first curve.
func spreads(net *response.Shape, coef []float64, top float64) []variance {
	full := math.Abs(net.At(coef, top) - net.At(coef, 0))
	var out []variance
	for _, r := range ratios {
		if r > 0 && !(full > 0) {
			break
		}
		out = append(out, variance{Weights: BySpread, Ratio: r, Net: net.Name, NetCoef: coef, Full: full})
	}
	return out
}

// fromReplicates are the probabilities of spread functions by the scatter
// inside levels alone, its overall size integrated out:
//
//	p ∝ Π v_l^(−ν_l/2) · (Σ within_l/v_l)^(−ν/2)
func fromReplicates(lv levels, vs []variance) []chances {
	logs, at := make([]float64, len(vs)), make([]int, len(vs))
	nu := float64(lv.replicates())
	for k, s := range vs {
		v := s.of(lv.c)
		at[k] = k
		for l := range v {
			logs[k] -= (lv.n[l] - 1) / 2 * math.Log(v[l])
		}
		logs[k] -= nu / 2 * math.Log(lv.pure(v))
	}
	return weighed(logs, at, odds.growing)
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
func expected(lv levels, vs []variance, mass []chances) []float64 {
	w := make([]float64, lv.count())
	nu := float64(lv.replicates())
	for k, s := range vs {
		v := s.of(lv.c)
		size := lv.pure(v) / nu
		for l := range w {
			w[l] += mass[k].even / (size * v[l])
		}
	}
	out := make([]float64, len(w))
	for l := range out {
		out[l] = w[0] / w[l]
	}
	return out
}
