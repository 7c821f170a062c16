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
var departures = []float64{0, 0.125, 0.25, 0.5, 1, 2, 4}

// Slope is that of the straight line about which readings lie, per day, by generalised least
// squares: y = a + b·t + departure + own error + what is shared. How much the
// water departs is not known: every size of it counts by its restricted likelihood
// (H. D. Patterson & R. Thompson 1971, Biometrika 58, 545) times a half-Cauchy weight
// with the scale of the readings' scatter. The interval holds the middle 95 % of that
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
	for k, size := range departures {
		f := r.line(size * scale)
		width := departures[min(k+1, len(departures)-1)] - departures[max(k-1, 0)]
		logs = append(logs, f.logLikelihood+math.Log(width/(1+size*size)))
		fits = append(fits, f)
	}
	top := slices.Max(logs)
	for k, f := range fits {
		w := math.Exp(logs[k] - top)
		if w < 1e-4 {
			continue
		}
		for d := range r.Spread {
			e.Add(w, f.slope-f.shared[d], f.u*r.Spread[d])
		}
	}
	e.Summarise()
	return e, true
}

type lineFit struct {
	slope, u, logLikelihood float64
	shared                  []float64 // of the slope, by draw
}

// line is the fit for departures of a standard deviation. A scalar filter makes the columns
// of the problem independent with variance 1 (A. C. Harvey & G. D. A. Phillips 1979,
// Biometrika 66, 49), so that its cost is linear.
func (r Readings) line(departs float64) (f lineFit) {
	n := len(r.Days)
	mid := (r.Days[0] + r.Days[n-1]) / 2
	one, day := make([]float64, n), make([]float64, n)
	for i := range one {
		one[i], day[i] = 1, r.Days[i]-mid
	}
	logDet := r.whiten(departs, one, day)
	s11, s1t, stt := dot(one, one), dot(one, day), dot(day, day)
	t := make([]float64, n) // the day without its mean, in the metric of the fit
	for i := range t {
		t[i] = day[i] - s1t/s11*one[i]
	}
	norm := dot(t, t)
	of := func(values []float64) (slope, left float64) {
		y := slices.Clone(values)
		r.whiten(departs, y)
		slope = dot(t, y) / norm
		rest := dot(y, y) - dot(one, y)*dot(one, y)/s11 - slope*slope*norm
		return slope, rest
	}
	var left float64
	f.slope, left = of(r.Value)
	f.u = 1 / math.Sqrt(norm)
	f.logLikelihood = -0.5 * (logDet + math.Log(s11*stt-s1t*s1t) + left)
	for _, c := range r.Shared {
		s, _ := of(c)
		f.shared = append(f.shared, s)
	}
	return f
}

// whiten replaces columns by what is new in each value, in units of its standard
// deviation; it returns the log-determinant of the values' covariance.
func (r Readings) whiten(departs float64, columns ...[]float64) (logDet float64) {
	w := departs * departs
	mean := make([]float64, len(columns))
	v := w
	for i := range r.Days {
		if i > 0 {
			phi := math.Exp(-(r.Days[i] - r.Days[i-1]) / Memory)
			v = phi*phi*v + (1-phi*phi)*w
			for k := range mean {
				mean[k] *= phi
			}
		}
		all := v + r.Var[i]
		logDet += math.Log(all)
		gain, sd := v/all, math.Sqrt(all)
		for k, c := range columns {
			fresh := c[i] - mean[k]
			mean[k] += gain * fresh
			c[i] = fresh / sd
		}
		v -= gain * v
	}
	return logDet
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
