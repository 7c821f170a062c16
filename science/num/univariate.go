package num

import (
	"math"
	"slices"
)

// Mean is the arithmetic mean, compensated and then corrected once by the mean
// of the deviations. NaN for no values.
func Mean(x []float64) float64 {
	m, _ := meanSS(x)
	return m
}

// MeanSD is the mean and the standard deviation with divisor n − 1, by two
// compensated passes. SD is NaN below two values.
func MeanSD(x []float64) (mean, sd float64) {
	mean, ss := meanSS(x)
	if len(x) < 2 {
		return mean, math.NaN()
	}
	return mean, math.Sqrt(ss / float64(len(x)-1))
}

// meanSS is the mean and the sum of squares about it. The mean is held in two
// parts, so that deviations from it do not suffer from its own rounding.
func meanSS(x []float64) (mean, ss float64) {
	if len(x) == 0 {
		return math.NaN(), math.NaN()
	}
	n := float64(len(x))
	var total, rest, squares Sum
	for _, v := range x {
		total.Add(v)
	}
	mean = total.Value() / n
	for _, v := range x {
		rest.Add(v - mean)
	}
	delta := rest.Value() / n
	for _, v := range x {
		d := (v - mean) - delta
		squares.AddProduct(d, d)
	}
	return mean + delta, squares.Value()
}

// OneWay is a one-way analysis of variance.
type OneWay struct {
	BetweenSS, WithinSS, BetweenMS, WithinMS float64
	BetweenDF, WithinDF                      int
	F, P                                     float64
	R2                                       float64
	Means                                    []float64
	N0                                       float64 // effective number a group, (N − Σn²/N)/(k−1)
}

// NewOneWay splits the squares of groups of values into those between and
// within groups. With an empty group all is NaN, as is whatever there are no
// degrees of freedom for.
//
// Values are taken from the first one on before anything is squared: data such
// as 1000000000000.4 have lost most digits of their spread already when they
// become float64; none are lost here.
func NewOneWay(groups ...[]float64) OneWay {
	o := OneWay{BetweenDF: len(groups) - 1}
	empty := func(g []float64) bool { return len(g) == 0 }
	if len(groups) == 0 || slices.ContainsFunc(groups, empty) {
		nan := math.NaN()
		return OneWay{BetweenSS: nan, WithinSS: nan, BetweenMS: nan, WithinMS: nan, F: nan, P: nan, R2: nan, N0: nan}
	}
	origin := groups[0][0]
	var all, within, between Sum
	n, n2 := 0.0, 0.0
	means := make([]float64, len(groups)) // from origin
	for g, values := range groups {
		shifted := make([]float64, len(values))
		for i, v := range values {
			shifted[i] = v - origin
			all.Add(shifted[i])
		}
		m, ss := meanSS(shifted)
		within.Add(ss)
		means[g] = m
		o.Means = append(o.Means, origin+m)
		k := float64(len(values))
		n, n2 = n+k, n2+k*k
	}
	grand := all.Value() / n
	for g, m := range means {
		d := m - grand
		between.Add(float64(len(groups[g])) * d * d)
	}
	o.WithinDF = int(n) - len(groups)
	o.BetweenSS, o.WithinSS = between.Value(), within.Value()
	o.BetweenMS = o.BetweenSS / float64(o.BetweenDF)
	o.WithinMS = o.WithinSS / float64(o.WithinDF)
	o.F = o.BetweenMS / o.WithinMS
	o.P = FSurvival(o.F, float64(o.BetweenDF), float64(o.WithinDF))
	o.R2 = o.BetweenSS / (o.BetweenSS + o.WithinSS)
	o.N0 = (n - n2/n) / float64(o.BetweenDF)
	return o
}
