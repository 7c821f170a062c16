package posterior

import (
	"math"
	"sync"

	"knownwater/science/num"
)

// Kind is a way in which single readings scatter about their mean. Each is a
// mixture of normals.
type Kind int

// The kinds: normal; normal with a few gross slips, half of them 6, half 30
// standard deviations wide; and heavy tails as those of Student's t with 3
// degrees of freedom, in six parts.
const (
	Normal Kind = iota
	FewSlips
	MoreSlips
	Heavy
	kinds
)

// kindPrior is what each kind counts beforehand: under the prior that favours a
// form the ones with many slips count little, as few readings never rule them out.
var kindPrior = [priors][kinds]float64{Wide: {0.5, 0.2, 0.15, 0.15}, FormFavouring: {0.65, 0.12, 0.05, 0.18}}

// parts are a kind's weights and widths. Those of the heavy tails stand at the
// middles of six shares of χ²₃/3, from the narrowest to the widest.
func (k Kind) parts() (weight, width []float64) {
	switch k {
	case FewSlips:
		return []float64{0.97, 0.015, 0.015}, []float64{1, 6, 30}
	case MoreSlips:
		return []float64{0.92, 0.04, 0.04}, []float64{1, 6, 30}
	case Heavy:
		weight = []float64{0.35, 0.3, 0.2, 0.1, 0.04, 0.01}
		above := 1.0
		for _, w := range weight {
			width = append(width, math.Sqrt(3/num.ChiSquareQuantile(above-w/2, 3)))
			above -= w
		}
		return weight, width
	}
	return []float64{1}, []float64{1}
}

// scatter is the distribution of (reading − mean)/s. Of a normal with slips s is the
// normal's: how far slips lie off says nothing of how a method repeats, and they
// are named and asked about. Of heavy tails s is the normal-equivalent standard
// deviation, half of their middle 95 % ÷ 1.96.
// Logarithms of density and upper tail are tabulated with linear interpolation,
// good to 1e-5 up to tableEnd; nobody looks at digits beyond.
type scatter struct {
	kind      Kind
	unit      float64   // width of the first part, in s
	weight    []float64 // of each part
	component []float64 // its standard deviation, in s
	logF, up  []float64 // up to tableEnd
	farF, far []float64 // from there, at the nodes of farNode
	left      []float64 // … the chance of more than x
	cdf       []float64 // chance of no more than x, from −tableEnd to tableEnd
}

const (
	tableEnd   = 12.0
	tableSteps = 128 // a unit
	cdfSteps   = 256 // a unit
)

// Beyond the table nodes stand as the first digits of a binary number go, 64 an octave, from 8 up to 2^18.
const (
	farDigits   = 52 - 6 // of a number's binary digits, those between two nodes
	farFirst    = uint64(1023+3) << 6
	farNodes    = 15 << 6
	ofFarDigits = 1 / float64(uint64(1)<<farDigits) // … as a share
)

var scatters = sync.OnceValue(func() [kinds]*scatter {
	var all [kinds]*scatter
	for k := range all {
		all[k] = newScatter(Kind(k))
	}
	return all
})

func newScatter(k Kind) *scatter {
	weight, width := k.parts()
	s := &scatter{kind: k, weight: weight}
	s.unit = 1
	if k == Heavy {
		s.unit = equivalentUnit(weight, width)
	}
	for _, w := range width {
		s.component = append(s.component, s.unit*w)
	}
	s.cdf = make([]float64, int(2*tableEnd*cdfSteps)+2)
	for i := range s.cdf {
		for j, w := range weight {
			s.cdf[i] += w * num.Phi((float64(i)/cdfSteps-tableEnd)/s.component[j])
		}
	}
	n := int(tableEnd*tableSteps) + 2
	s.logF, s.up = make([]float64, n), make([]float64, n)
	for i := range n {
		s.logF[i], s.up[i] = s.direct(float64(i) / tableSteps)
	}
	s.farF, s.far, s.left = make([]float64, farNodes+1), make([]float64, farNodes+1), make([]float64, farNodes+1)
	for i := range s.farF {
		s.farF[i], s.far[i] = s.direct(math.Float64frombits((farFirst + uint64(i)) << farDigits))
		s.left[i] = num.Exp(s.far[i])
	}
	return s
}

// equivalentUnit is the width of a mixture's first part that puts 5 % beyond ±1.96.
func equivalentUnit(weight, width []float64) float64 {
	lo, hi := 0.1, 2.0
	for range 60 {
		unit, beyond := (lo+hi)/2, 0.0
		for j, w := range weight {
			beyond += 2 * w * num.Phi(-z975/(unit*width[j]))
		}
		if beyond > 0.05 {
			hi = unit
		} else {
			lo = unit
		}
	}
	return (lo + hi) / 2
}

// direct is the log density and the log upper tail.
func (s *scatter) direct(x float64) (logF, up float64) {
	f, q := make([]float64, len(s.weight)), make([]float64, len(s.weight))
	for j, w := range s.weight {
		z := x / s.component[j]
		f[j] = num.Log(w/s.component[j]) + num.LogNormalPDF(z)
		q[j] = num.Log(w) + num.LogPhi(-z)
	}
	return logSum(f), logSum(q)
}

const z975 = 1.959963984540054

// density is the log density at x.
func (s *scatter) density(x float64) float64 {
	if x < 0 {
		x = -x
	}
	if x < tableEnd {
		return between(s.logF, x)
	}
	return beyond(s.farF, x)
}

// upper is log P(e > x) for x ≥ 0.
func (s *scatter) upper(x float64) float64 {
	if x < tableEnd {
		return between(s.up, x)
	}
	if math.IsInf(x, 1) {
		return x * -1
	}
	return beyond(s.far, x)
}

// beyond goes straight between the nodes of a table from 8 up; from the last on a logarithm goes on in proportion to x.
func beyond(table []float64, x float64) float64 {
	bits := math.Float64bits(x)
	i := bits>>farDigits - farFirst
	if i >= farNodes {
		return table[farNodes] * (x / (1 << 18))
	}
	return table[i] + float64(bits&(1<<farDigits-1))*ofFarDigits*(table[i+1]-table[i])
}

func between(table []float64, x float64) float64 {
	at := x * tableSteps
	i := int(at)
	t := at - float64(i)
	return table[i] + t*(table[i+1]-table[i])
}

// inside is log P(a < e < b), without the loss of digits that a difference of
// distribution functions brings.
func (s *scatter) inside(a, b float64) float64 {
	if b-a < 0.02 {
		return s.density((a+b)/2) + num.Log(b-a)
	}
	if b <= 0 {
		a, b = -b, -a
	}
	if a >= 0 {
		la := s.upper(a)
		if b-a > 12 && (s.kind == Normal || math.IsInf(b, 1)) {
			return la
		}
		return la + log1m(num.Exp(s.upper(b)-la))
	}
	return log1m(num.Exp(s.upper(-a)) + num.Exp(s.upper(b)))
}

// log1m is log(1 − x).
func log1m(x float64) float64 {
	if x > 1e-3 && x < 0.999 {
		return num.Log(1 - x) // good to 1e-13, and quick
	}
	return math.Log1p(-x)
}

// below is P(e ≤ x), good to 1e-6 absolutely. Of slips some lie beyond the table.
func (s *scatter) below(x float64) float64 {
	if x <= -tableEnd {
		if s.kind == Normal || math.IsInf(x, 0) {
			return 0
		}
		return max(0, beyond(s.left, -x))
	}
	if !(x < tableEnd) {
		if s.kind == Normal || math.IsInf(x, 0) {
			return 1
		}
		return 1 - max(0, beyond(s.left, x))
	}
	return s.inTable(x)
}

// inTable is that between −tableEnd and tableEnd.
func (s *scatter) inTable(x float64) float64 {
	at := (x + tableEnd) * cdfSteps
	i := int(at)
	return s.cdf[i] + (at-float64(i))*(s.cdf[i+1]-s.cdf[i])
}

// small is the chance below which a difference of tabulated chances has too few
// digits left, and is computed from logarithms.
const small = 2e-3

// product gathers chances, so that one logarithm serves many of them.
type product struct{ log, p float64 }

// times puts count readings between a and b in.
func (q *product) times(s *scatter, a, b, count float64) {
	p := s.below(b) - s.below(a)
	switch {
	case p < small:
		q.log += count * s.inside(a, b)
	case count == 1:
		q.factor(p)
	case count == 2:
		q.factor(p * p)
	case count == 3:
		q.factor(p * p * p)
	default:
		q.log += count * num.Log(p)
	}
}

// factor puts a factor in that is between 1e-100 and 1e100.
func (q *product) factor(p float64) {
	if q.p *= p; q.p < 1e-200 || q.p > 1e200 {
		q.log += num.Log(q.p)
		q.p = 1
	}
}

func (q *product) value() float64 { return q.log + num.Log(q.p) }
