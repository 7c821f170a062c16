package posterior

import (
	"math"
	"slices"
)

// The spread at level g is exp(log φ + log h(c_g) + δ_g), δ_g ~ N(0, ω²): a
// shape h over the concentrations, and freedom of each level beside it.

// freedoms are the values of ω.
var freedoms = [...]float64{step, 0.2, 0.4, 0.7, 1.1, 1.6, 2.2}

// logFreedom and invSquare are log ω and 1/ω².
var logFreedom, invSquare = func() (logs, inverse []float64) {
	for _, w := range freedoms {
		logs, inverse = append(logs, math.Log(w)), append(inverse, 1/(w*w))
	}
	return logs, inverse
}()

// slipFreedom is the largest ω for kinds of scatter other than normal, as a level
// whose spread stands out and a reading that does explain the same data; and for
// the prior that favours a form.
const slipFreedom = 0.7

// step is the spacing of all grids of log s.
const step = 0.08

// Prior says how much is known beforehand of how the spread behaves.
type Prior int

// Wide leaves the shape and each level free: limits and "not fit" are told by
// it. FormFavouring leans on a shape that all levels follow: "fit" is.
const (
	Wide Prior = iota
	FormFavouring
	priors
)

// shape is one h, as the logarithm at each group.
type shape struct {
	logH   []float64
	offset []int // logH in steps
	prior  [priors]float64
	humped bool
}

// shapes lists the shapes at the groups' concentrations: two-component rising
// (40 %, log r ~ N(0, 2.5)), falling (20 %), steeper (20 %), humped (20 %); and
// constant and proportional, which the form-favouring prior gives 0.7 each beside
// 1, the proportional one with a remnant near zero that is not known. They are
// centred on the groups' weights, rounded to the grid; groups without weight do not count.
func shapes(c, weight []float64) []shape {
	var told []float64
	for g, x := range c {
		if weight[g] > 0 {
			told = append(told, x)
		}
	}
	mid := middleConcentration(told)
	if mid == 0 || same(told) {
		return []shape{{logH: make([]float64, len(c)), offset: make([]int, len(c)), prior: [priors]float64{1, 1}}}
	}
	var all []shape
	add := func(wide, pure float64, h func(x float64) float64) {
		s := shape{prior: [priors]float64{wide, wide/(1+2*pureWeight) + pure}}
		for _, x := range c {
			s.logH = append(s.logH, h(x/mid))
		}
		s.centre(weight)
		all = append(all, s)
	}
	two := func(logR float64) func(float64) float64 {
		r2 := math.Exp(2 * logR)
		return func(x float64) float64 { return 0.5 * math.Log((r2+x*x)/(1+r2)) }
	}
	total, fallingTotal := 0.0, 0.0
	for _, r := range balances {
		total += balanceWeight(r)
		if r >= leastFalling {
			fallingTotal += balanceWeight(r)
		}
	}
	for _, r := range balances {
		w, h := balanceWeight(r)/total, two(r)
		add(0.4*w, 0, h)
		if r >= leastFalling {
			add(0.2*balanceWeight(r)/fallingTotal, 0, func(x float64) float64 { return -h(x) })
		}
		add(0.2*w, 0, func(x float64) float64 { return 1.5 * h(x) })
	}
	low, high := math.Log(slices.Min(told)/mid+0.25), math.Log(slices.Max(told)/mid+0.25)
	for _, b := range humps {
		for _, at := range summits {
			add(0.2/float64(len(humps)*len(summits)), 0, func(x float64) float64 {
				t := 2*(math.Log(x+0.25)-low)/(high-low) - 1
				return -1.2 * b * (t - at) * (t - at)
			})
			all[len(all)-1].humped = true
		}
	}
	add(0, pureWeight/(1+2*pureWeight), func(float64) float64 { return 0 })
	for _, r := range remnants {
		add(0, pureWeight/(1+2*pureWeight)/float64(len(remnants)), two(r))
	}
	return all
}

const pureWeight = 0.7

// remnants are the values of log r that count as proportional: nothing keeps its share
// of the spread down to the last digit.
var remnants = []float64{-5, -3.5, -2.5, -1.6}

// humps are how high humps stand, summits where: close enough together that between
// two of them no level is off by more than a third.
var (
	humps   = []float64{0.4, 0.8, 1.2, 1.8}
	summits = []float64{-0.6, -0.4, -0.2, 0, 0.2, 0.4, 0.6}
)

// balances are the values of log r.
var balances = []float64{-5, -3.5, -2.5, -1.6, -0.8, 0, 0.8, 1.6, 2.5, 3.5, 5}

// leastFalling bounds how much a spread falls: at nothing five times what it is in
// the middle. Beyond that a blank with hardly any closed reading could scatter without end.
const leastFalling = -1.6

func balanceWeight(r float64) float64 { return math.Exp(-0.5 * r * r / (2.5 * 2.5)) }

func (s *shape) centre(weight []float64) {
	mean, total := 0.0, 0.0
	for g, w := range weight {
		mean += w * s.logH[g]
		total += w
	}
	for g := range s.logH {
		s.offset = append(s.offset, int(math.Round((s.logH[g]-mean/total)/step)))
		s.logH[g] = float64(s.offset[g]) * step
	}
}

// middleConcentration is the median of the concentrations above 0.
func middleConcentration(c []float64) float64 {
	var up []float64
	for _, x := range c {
		if x > 0 {
			up = append(up, x)
		}
	}
	return median(up)
}

func same(c []float64) bool { return slices.Min(c) == slices.Max(c) }

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// freedom is what each ω counts under a prior: of shapes that a cause stands behind, and
// of humps.
type freedom [priors][2][]float64

func (f *freedom) of(p Prior, s *shape, omega int) float64 {
	if s.humped {
		return f[p][1][omega]
	}
	return f[p][0][omega]
}

// inForm is what the form-favouring prior puts on the smallest values of ω beside 30 % on
// all up to slipFreedom; leastHumped is the least ω of a hump under the wide one. A spread that rises or falls as a
// cause has it does so to a tenth, while a hump of any cause is a parabola on the scale of
// logarithms only roughly: taken for one to a tenth, levels on its flanks and at its feet
// were too sure of their spread (limits at 97.5 % missed by 6 to 19 %, nine readings each).
var inForm = [2][]float64{{0.55, 0.15}, {0, 0.35, 0.35}}

const leastHumped = 0.4

// freedomPrior: half-normal of scale 1.2, and for the form-favouring prior 70 % on the
// smallest ones and none on the large ones.
func freedomPrior(k Kind) *freedom {
	all := make([]float64, len(freedoms))
	for i, w := range freedoms {
		left, right := -w, w
		if i > 0 {
			left = freedoms[i-1]
		}
		if i < len(freedoms)-1 {
			right = freedoms[i+1]
		}
		if k == Normal || w <= slipFreedom {
			all[i] = math.Exp(-0.5*w*w/(1.2*1.2)) * (right - left) / 2
		}
	}
	p := &freedom{}
	for h, least := range [2]float64{0, leastHumped} {
		p[Wide][h] = shareOut(1, all, least, math.Inf(1))
		p[FormFavouring][h] = shareOut(0.3, all, least, slipFreedom)
		for i, more := range inForm[h] {
			p[FormFavouring][h][i] += more
		}
	}
	return p
}

// shareOut gives a whole to the ω from least to most, in proportion to their weights.
func shareOut(whole float64, weight []float64, least, most float64) []float64 {
	out, total := make([]float64, len(weight)), 0.0
	for i, w := range freedoms {
		if w >= least && w <= most {
			out[i] = weight[i]
			total += weight[i]
		}
	}
	for i := range out {
		out[i] *= whole / total
	}
	return out
}
