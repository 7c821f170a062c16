package decide

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// Prior is where a quantity lies before it is measured: its density between From and To,
// both finite, of which Weight in all lies there.
type Prior struct {
	From, To float64
	Density  func(c float64) float64
}

// Even is a quantity that lies anywhere between two values alike.
func Even(from, to float64) Prior {
	d := 1 / (to - from)
	return Prior{from, to, func(float64) float64 { return d }}
}

// Risks are chances over all that is measured (JCGM 106:2012, 9.5): that a quantity lies
// inside the tolerance, that its result lies inside the acceptance limits, that one outside
// is accepted (the consumer's), that one inside is rejected (the producer's). Below and
// Above are the two parts of the consumer's risk.
type Risks struct{ Conforming, Accepted, Consumer, Producer, Below, Above float64 }

// Risk integrates them, for results that are normal about mean(c), c the truth, with standard
// uncertainty u(c) > 0:
//
//	consumer = ∫ outside the tolerance g(c)·[Φ((A_high − mean)/u) − Φ((A_low − mean)/u)] dc
//	producer = ∫ inside the tolerance g(c)·[1 − …] dc
//
// by three-point Gauss panels between all limits, good to ten digits for the cases of
// decide.json; limits may be infinite.
func Risk(p Prior, mean, u func(c float64) float64, tolerance, acceptance [2]float64) Risks {
	return RiskOf(p, func(c float64) float64 {
		m, s := mean(c), u(c)
		return num.Phi((acceptance[1]-m)/s) - num.Phi((acceptance[0]-m)/s)
	}, tolerance, acceptance)
}

// RiskOf is Risk of results of any distribution: accepts is the chance that a quantity of c is accepted, which changes most about the
// acceptance limits.
func RiskOf(p Prior, accepts func(c float64) float64, tolerance, acceptance [2]float64) (r Risks) {
	cuts := []float64{p.From, p.To}
	for _, at := range []float64{tolerance[0], tolerance[1], acceptance[0], acceptance[1]} {
		if at > p.From && at < p.To {
			cuts = append(cuts, at)
		}
	}
	slices.Sort(cuts)
	for i := 1; i < len(cuts); i++ {
		lo, hi := cuts[i-1], cuts[i]
		if !(hi > lo) {
			continue
		}
		panel(lo, hi, func(c, weight float64) {
			w := weight * p.Density(c)
			in := accepts(c)
			r.Accepted += w * in
			switch {
			case c < tolerance[0]:
				r.Below += w * in
			case c > tolerance[1]:
				r.Above += w * in
			default:
				r.Conforming += w
				r.Producer += w * (1 - in)
			}
		})
	}
	r.Consumer = r.Below + r.Above
	return r
}

// panel walks the nodes and weights of 200 three-point Gauss-Legendre panels.
func panel(lo, hi float64, at func(c, weight float64)) {
	const panels = 200
	x := math.Sqrt(0.6)
	h := (hi - lo) / panels / 2
	for i := range panels {
		mid := lo + (2*float64(i)+1)*h
		at(mid-x*h, 5.0/9*h)
		at(mid, 8.0/9*h)
		at(mid+x*h, 5.0/9*h)
	}
}
