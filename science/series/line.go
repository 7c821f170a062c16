package series

import (
	"math"
	"slices"

	"knownwater/science/num"
)

// Memory is how long a water keeps a departure from its level, in days: what goes away
// within about five weeks is how it wanders, what stays is change. A departure is an
// Ornstein–Uhlenbeck process, with correlation exp(−days/Memory).
const Memory = 35.0

// Readings are values on days that never fall, each with its own variance, and what they
// share: Shared[d][i] is the error of value i in draw d, every draw equally likely. Spread[d]
// is by how much own standard deviations differ in draw d.
type Readings struct {
	Days, Value, Var []float64
	Shared           [][]float64
	Spread           []float64
}

// Estimate is a quantity with its 95 % interval and standard uncertainty.
type Estimate struct {
	Value, Low, High, U float64
	Mixture
}

// departures are tried from none up to several times the readings' own scatter.
var departures = []float64{0, 0.125, 0.25, 0.5, 1, 2, 4, 8}

// Slope is that of the straight line about which readings lie, per day, by generalised least
// squares: y = a + b·t + departure + own error + what is shared. How far the
// water departs and how long it keeps that is not known: every size and memory counts by its restricted likelihood
// (H. D. Patterson & R. Thompson 1971, Biometrika 58, 545) times 1/(1 + size), the size in scatters of a
// reading: too few readings to see a wandering are no sign that there is none. The interval holds the middle 95 % of that
// mixture, over the draws of what is shared. Fewer than three days: not ok.
func (r Readings) Slope() (e Estimate, ok bool) {
	days := slices.Clone(r.Days)
	slices.Sort(days)
	if len(slices.Compact(days)) < 3 {
		return e, false
	}
	scale := 0.0
	for _, v := range r.Var {
		scale += math.Sqrt(v) / float64(len(r.Var))
	}
	var logs []float64
	var fits []lineFit
	for _, memory := range memories {
		for k, size := range departures {
			f := r.line(size*scale, memory)
			logs = append(logs, f.logLikelihood+math.Log(widthAt(departures, k)/(1+size)))
			fits = append(fits, f)
		}
	}
	top := slices.Max(logs)
	for k, f := range fits {
		w := math.Exp(logs[k] - top)
		if w < 1e-3 {
			continue
		}
		for d, c := range r.Shared {
			e.Add(w, f.slope-dot(f.weight, c), f.u*r.Spread[d])
		}
	}
	e.Summarise()
	return e, true
}

type lineFit struct {
	slope, u, logLikelihood float64
	weight                  []float64 // of each value in the slope
}

// line is the fit for departures of a standard deviation and memory. A scalar filter makes the columns
// of the problem independent with variance 1 (A. C. Harvey & G. D. A. Phillips 1979,
// Biometrika 66, 49), so that its cost is linear; back through it come the weights of the values.
func (r Readings) line(departs, memory float64) (f lineFit) {
	n := len(r.Days)
	mid := (r.Days[0] + r.Days[n-1]) / 2
	one, day := make([]float64, n), make([]float64, n)
	for i := range one {
		one[i], day[i] = 1, r.Days[i]-mid
	}
	filter := newFilter(r.Days, r.Var, departs, memory)
	filter.whiten(one)
	filter.whiten(day)
	s11, s1t, stt := dot(one, one), dot(one, day), dot(day, day)
	t := make([]float64, n) // the day without its mean, in the metric of the fit
	for i := range t {
		t[i] = day[i] - s1t/s11*one[i]
	}
	norm := dot(t, t)
	y := slices.Clone(r.Value)
	filter.whiten(y)
	f.slope = dot(t, y) / norm
	level := dot(one, y)
	left := dot(y, y) - level*level/s11 - f.slope*f.slope*norm
	f.u = 1 / math.Sqrt(norm)
	f.logLikelihood = -0.5 * (filter.logDet + math.Log(s11*stt-s1t*s1t) + left)
	for i := range t {
		t[i] /= norm
	}
	filter.back(t)
	f.weight = t
	return f
}

func dot(a, b []float64) float64 {
	var s num.Sum
	for i := range a {
		s.Add(a[i] * b[i])
	}
	return s.Value()
}

// Mixture is a number of normal distributions with weights.
type Mixture struct{ weight, mean, sd []float64 }

// Add puts one more into it.
func (m *Mixture) Add(weight, mean, sd float64) {
	m.weight, m.mean, m.sd = append(m.weight, weight), append(m.mean, mean), append(m.sd, sd)
}

// Below is the chance of less than x.
func (m Mixture) Below(x float64) float64 {
	p, all := 0.0, 0.0
	for i, w := range m.weight {
		all += w
		switch {
		case m.sd[i] > 0:
			p += w * num.Phi((x-m.mean[i])/m.sd[i])
		case m.mean[i] < x:
			p += w
		case m.mean[i] == x:
			p += w / 2
		}
	}
	return p / all
}

func (m Mixture) moments() (mean, sd float64) {
	all := 0.0
	for i, w := range m.weight {
		all += w
		mean += w * m.mean[i]
	}
	mean /= all
	for i, w := range m.weight {
		d := m.mean[i] - mean
		sd += w / all * (m.sd[i]*m.sd[i] + d*d)
	}
	return mean, math.Sqrt(sd)
}

func (m Mixture) quantile(p float64) float64 {
	mean, sd := m.moments()
	if !(sd > 0) {
		return mean
	}
	a, b := mean-9*sd, mean+9*sd
	x, err := num.Root(func(x float64) float64 { return m.Below(x) - p }, a, b, 1e-10*(b-a))
	if err != nil {
		return math.NaN()
	}
	return x
}

// Summarise takes mean, standard deviation and the middle 95 % from the mixture.
func (e *Estimate) Summarise() {
	e.Value, e.U = e.moments()
	e.Low, e.High = e.quantile(0.025), e.quantile(0.975)
}
