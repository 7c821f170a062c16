package series

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// Tried is one water of an experiment: its readings, some before and some after the day on which something was
// done to the treated ones.
type Tried struct {
	Readings
	After   []bool
	Treated bool
}

// Effect is what was done to treated waters beside what control waters did, as a mixture over all
// that the readings leave open, with what each water did by itself.
type Effect struct {
	Estimate
	Waters []Estimate // the step of each water from before to after
	Wander float64    // standard deviation of its departures that waters show, on average
}

// What waters may do, in units of what one reading scatters: departures of sizes, kept for
// memories in days; and a step of their own between before and after, in units of the standard
// error that readings alone give a water's step. Alone are those of one water a side, in units of the standard error that
// readings and departures give a step.
var (
	sizes    = []float64{0, 0.25, 0.5, 1, 2, 4, 8, 16, 32, 64}
	memories = []float64{Memory / 3, Memory, 4 * Memory}
	alone    = []float64{0, 1}
	ownSteps = []float64{0, 0.25, 0.5, 1, 2, 4, 8, 16, 32, 64}
)

// EffectOf is the effect by before-after-control-impact: the mean step of the treated waters less that of the control
// waters (A. Stewart-Oaten, W. W. Murdoch & K. R. Parker 1986, Ecology 67, 929).
//
//	y_wi = level_w + step_w·after_i + departure_w(t_i) + own error + shared error
//	step_w = season + effect·treated_w + own step_w
//
// The unit is the water, not the test (S. H. Hurlbert 1984, Ecological Monographs 54, 187): tests of one water
// share its departure, an Ornstein–Uhlenbeck process of unknown size and memory, and its own step. Given size
// and memory, each water's step d_w and variance v_w are those of generalised least squares with its level free; given the
// own steps' standard deviation τ, the effect is the difference of two means weighted by 1/(v_w + τ²). Every
// size, memory and τ counts by its restricted likelihood (H. D. Patterson & R. Thompson 1971, Biometrika 58, 545) times
// a weight with the scale of the readings' scatter: 1/(1 + size) of sizes, so that few readings that show no departures are no
// sign that there are none, half-Cauchy of τ. With one water a side nothing tells τ from the effect: none, and as much as the standard error of
// a water's step, count alike (a convention; simulated, it keeps "it worked" of nothing below 5 % of waters that depart or walk). What readings share goes through the same weights draw by draw, so that
// it cancels where treated and control waters share it. Each water needs at least two readings on each side.
// Not ok: a side has no water. Checked against dense algebra in R (testdata/effect.json) to 1e-9; interval by Welch's t where own steps are all there is: within 15 %.
func EffectOf(waters []Tried) (e Effect, ok bool) { return effectOf(waters, true) }

// effectOf leaves each water's own step out where it is not asked for.
func effectOf(waters []Tried, each bool) (e Effect, ok bool) {
	sides := [2]int{}
	for _, w := range waters {
		sides[side(w.Treated)]++
	}
	if sides[0] == 0 || sides[1] == 0 {
		return e, false
	}
	scatter, stepScale := scales(waters)
	own := ownSteps
	if len(waters) < 3 {
		own = alone
	}
	type component struct {
		log     float64
		steps   []step
		tau     float64
		departs float64
	}
	var all []component
	top := math.Inf(-1)
	for _, memory := range memories {
		for k, size := range sizes {
			fits, within := stepsOf(waters, size*scatter, memory)
			prior := math.Log(widthAt(sizes, k) / (1 + size))
			for j, o := range own {
				tau := o * stepScale
				if len(waters) == 2 {
					tau = o * math.Sqrt((fits[0].variance+fits[1].variance)/2)
				}
				l := within + between(waters, fits, tau) + prior
				if len(waters) > 2 {
					l += math.Log(widthAt(own, j) / (1 + o*o))
				}
				top = math.Max(top, l)
				all = append(all, component{l, fits, tau, size * scatter})
			}
		}
	}
	if each {
		e.Waters = make([]Estimate, len(waters))
	}
	total := 0.0
	for k, c := range all {
		weight := math.Exp(c.log - top)
		if weight < 1e-4 {
			continue
		}
		total += weight
		e.Wander += weight * c.departs
		e.add(k, weight, waters, c.steps, c.tau)
	}
	e.Wander /= total
	e.Summarise()
	for i := range e.Waters {
		e.Waters[i].Summarise()
	}
	return e, true
}

func side(treated bool) int {
	if treated {
		return 1
	}
	return 0
}

// widthAt is how much of a row of places one stands for, but for a constant.
func widthAt(places []float64, k int) float64 {
	return places[min(k+1, len(places)-1)] - places[max(k-1, 0)]
}

// scales are what one reading scatters and the standard error that this alone gives a step.
func scales(waters []Tried) (scatter, ofStep float64) {
	n := 0.0
	for _, w := range waters {
		var weights [2]float64
		for i, v := range w.Var {
			scatter += math.Sqrt(v)
			weights[side(w.After[i])] += 1 / v
			n++
		}
		ofStep += math.Sqrt(1/weights[0]+1/weights[1]) / float64(len(waters))
	}
	return scatter / n, ofStep
}

// step is what a water did from before to after, given how waters depart.
type step struct {
	value, variance float64
	own             float64   // the part of the variance that is the readings' own
	shared          []float64 // by draw
}

// stepsOf are the steps of all waters, with the logarithm of the restricted likelihood of what the readings say beside them.
func stepsOf(waters []Tried, departs, memory float64) (out []step, logLikelihood float64) {
	for _, w := range waters {
		s, l := w.step(departs, memory)
		out = append(out, s)
		logLikelihood += l
	}
	return out, logLikelihood
}

// step by a scalar filter that makes the readings independent (A. C. Harvey & G. D. A. Phillips 1979,
// Biometrika 66, 49), back through which the weights of the readings come.
func (w Tried) step(departs, memory float64) (s step, logLikelihood float64) {
	n := len(w.Days)
	f := newFilter(w.Days, w.Var, departs, memory)
	one, after, y := make([]float64, n), make([]float64, n), slices.Clone(w.Value)
	middle := num.Mean(y)
	for i := range one {
		one[i] = 1
		if w.After[i] {
			after[i] = 1
		}
		y[i] -= middle
	}
	f.whiten(one)
	f.whiten(after)
	f.whiten(y)
	s11 := dot(one, one)
	away := dot(one, after) / s11
	for i := range after {
		after[i] -= away * one[i]
	}
	norm := dot(after, after)
	s.value, s.variance = dot(after, y)/norm, 1/norm
	level := dot(one, y) / s11
	rest := make([]float64, n)
	for i := range rest {
		rest[i] = y[i] - level*one[i] - s.value*after[i]
		after[i] /= norm
	}
	logLikelihood = -0.5 * (f.logDet + math.Log(s11) + math.Log(norm) + dot(rest, rest))
	f.back(after) // the weight of each reading in the step
	for i, g := range after {
		s.own += g * g * w.Var[i]
	}
	for _, errors := range w.Shared {
		s.shared = append(s.shared, dot(after, errors))
	}
	return s, logLikelihood
}

// filter is that of readings of a water that departs from its level.
type filter struct {
	kept, gain, sd []float64
	logDet         float64
}

func newFilter(days, variance []float64, departs, memory float64) filter {
	n := len(days)
	f := filter{kept: make([]float64, n), gain: make([]float64, n), sd: make([]float64, n)}
	w := departs * departs
	v := w
	for i := range days {
		if i > 0 {
			phi := math.Exp(-(days[i] - days[i-1]) / memory)
			f.kept[i] = phi
			v = phi*phi*v + (1-phi*phi)*w
		}
		all := v + variance[i]
		f.logDet += math.Log(all)
		f.gain[i], f.sd[i] = v/all, math.Sqrt(all)
		v -= f.gain[i] * v
	}
	return f
}

// whiten replaces a column by what is new in each of its values, in standard deviations.
func (f filter) whiten(c []float64) {
	mean := 0.0
	for i := range c {
		mean *= f.kept[i]
		fresh := c[i] - mean
		mean += f.gain[i] * fresh
		c[i] = fresh / f.sd[i]
	}
}

// back is the transpose of whiten.
func (f filter) back(c []float64) {
	mean := 0.0 // what comes back through the filter's mean
	for i := len(c) - 1; i >= 0; i-- {
		fresh := c[i]/f.sd[i] + f.gain[i]*mean
		c[i] = fresh
		mean = f.kept[i] * (mean - fresh)
	}
}

// between is the logarithm of the restricted likelihood of the steps, with an own step of
// standard deviation tau.
func between(waters []Tried, steps []step, tau float64) float64 {
	m := meansOf(waters, steps, tau)
	l := -0.5 * (math.Log(m.weight[0]) + math.Log(m.weight[1]))
	for i, s := range steps {
		v := s.variance + tau*tau
		d := s.value - m.value[side(waters[i].Treated)]
		l -= 0.5 * (math.Log(v) + d*d/v)
	}
	return l
}

// means are those of the control waters and the treated ones.
type means struct{ value, weight [2]float64 }

func meansOf(waters []Tried, steps []step, tau float64) (m means) {
	for i, s := range steps {
		k, r := side(waters[i].Treated), 1/(s.variance+tau*tau)
		m.weight[k] += r
		m.value[k] += r * s.value
	}
	for k := range m.value {
		m.value[k] /= m.weight[k]
	}
	return m
}

// fewDraws of what readings share go with each way in which waters may behave, others with the next.
const fewDraws = 32

// add counts the k-th way in which waters may behave.
func (e *Effect) add(k int, weight float64, waters []Tried, steps []step, tau float64) {
	m := meansOf(waters, steps, tau)
	effect := m.value[1] - m.value[0]
	variance, own := 1/m.weight[0]+1/m.weight[1], 0.0
	draws := len(waters[0].Shared)
	shared, spread := make([]float64, draws), make([]float64, draws)
	every := max(1, draws/fewDraws)
	for i, s := range steps {
		w := waters[i]
		on := side(w.Treated)
		share := 1 / (s.variance + tau*tau) / m.weight[on]
		own += share * share * s.own
		sign := float64(2*on - 1)
		for d := k % every; d < draws; d += every {
			shared[d] += sign * share * s.shared[d]
			spread[d] += w.Spread[d] / float64(len(waters))
			if e.Waters == nil {
				continue
			}
			f := w.Spread[d]
			e.Waters[i].Add(weight, s.value-s.shared[d], math.Sqrt(s.variance+s.own*(f*f-1)))
		}
	}
	for d := k % every; d < draws; d += every {
		f := spread[d]
		e.Add(weight, effect-shared[d], math.Sqrt(math.Max(0, variance+own*(f*f-1))))
	}
}
