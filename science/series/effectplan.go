package series

import (
	"math"
	"math/rand/v2"

	"knownwater/science/num"
)

// Planned is an experiment before it is made: so many waters, each tested on the same days, by a method that
// scatters by Scatter; waters depart from their level by Wander and come back within Memory.
type Planned struct {
	Treated, Control int
	Before, After    []float64 // days of testing
	Scatter, Wander  float64
}

// imagined experiments give a plan.
const imagined = 100

// leastScatter is how little of the wandering a method scatters that is as good as none.
const leastScatter = 1.0 / 30

// Smallest is the smallest effect that is called with a chance of power (95 % intervals that leave out 0): in experiments
// in which nothing is done the interval ends at low and high; an effect added to them moves both, as what is
// left open does not depend on it, so that one of −low, or of high the other way, is just called. Their
// quantile at power over 100 experiments, both ways, judged as they would be (EffectOf): to about 5 %. Deterministic.
func (p Planned) Smallest(power float64) float64 {
	scatter := math.Max(p.Scatter, p.Wander*leastScatter)
	if !(scatter > 0) {
		return math.NaN()
	}
	rng := num.Source(91, uint64(p.Treated), uint64(p.Control), uint64(len(p.Before)), uint64(len(p.After)))
	var ends []float64
	for range imagined {
		var waters []Tried
		for i := range p.Treated + p.Control {
			waters = append(waters, p.water(i < p.Treated, scatter, rng))
		}
		e, ok := effectOf(waters, false)
		if !ok {
			return math.NaN()
		}
		ends = append(ends, -e.Low, e.High)
	}
	return num.QuantileOf(ends, power)
}

// water is one in which nothing is done.
func (p Planned) water(treated bool, scatter float64, rng *rand.Rand) Tried {
	w := Tried{Treated: treated}
	n := len(p.Before) + len(p.After)
	away := p.Wander * rng.NormFloat64()
	for i := range n {
		day, after := 0.0, i >= len(p.Before)
		if after {
			day = p.After[i-len(p.Before)]
		} else {
			day = p.Before[i]
		}
		if i > 0 {
			kept := math.Exp(-(day - w.Days[i-1]) / Memory)
			away = kept*away + p.Wander*math.Sqrt(1-kept*kept)*rng.NormFloat64()
		}
		w.Days, w.After = append(w.Days, day), append(w.After, after)
		w.Value, w.Var = append(w.Value, away+scatter*rng.NormFloat64()), append(w.Var, scatter*scatter)
	}
	w.Spread, w.Shared = []float64{1}, [][]float64{make([]float64, n)}
	return w
}
