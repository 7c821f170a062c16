package curve

import (
	"math"

	"knownwater/science/num"
)

// Limits are concentrations in the cell; NaN where they cannot be computed.
type Limits struct {
	CriticalSignal float64 // above it a signal is not that of a blank, 5 % false alarms
	Critical       float64 // the level that this signal stands for
	Detection      float64 // a true level that is missed 5 % of the time
	Quantification float64 // from here up u of one result is at most 10 % of it
}

const (
	falseAlarm = 0.05
	quantified = 0.10 // L. A. Currie 1995, Pure Appl. Chem. 67, 1699
)

// Limits are those of the mean of m signals, through the curve:
//
//	critical signal y_c: P(mean > y_c | nothing there) = 5 %
//	critical level: where the curve meets y_c
//	detection: f(x_d) = y_c + (δ − t)·u(x_d), δ the non-centrality for 5 % missed
//
// which for a line and equal weights is ISO 11843-2:2000 (α = β = 5 %, δ by its
// non-central t), with u(x_d) from the spread at x_d as ISO 11843-5 has it.
// Quantification: the lowest level at or above detection from which on up to the end of the range u ≤ 10 %.
//
// A dead zone may end all at once and not in the soft bend of the shape, whose foot would be detected before the
// zone ends: detection is where a sharp end gives the signal that the soft one gives at its own limit. Where a dead
// zone fits as well (Beside), limits are the further ones of both, and u holds what both differ by, as in Read.
func (c Curve) Limits(m int) Limits {
	l := c.alone(m)
	if c.Beside != nil {
		other := c.Beside.alone(m)
		if (other.CriticalSignal > l.CriticalSignal) != c.falls() {
			l.CriticalSignal = other.CriticalSignal
		}
		l.Critical = math.Max(l.Critical, other.Critical) // NaN where either is
		l.Detection = math.Max(l.Detection, other.Detection+num.TQuantile(1-falseAlarm, finiteDF(c.Beside.DF))*c.Beside.placed(other.Detection))
	}
	from := l.Detection
	if c.spreadUnknown() {
		from = l.Critical
	}
	l.Quantification = c.quantification(query{Curve: c, m: float64(m)}, math.Max(from, 0))
	return l
}

// placed is the standard uncertainty of where a curve has its level x, of its coefficients alone.
func (c Curve) placed(x float64) float64 {
	g := make([]float64, c.form.Params)
	c.form.Gradient(c.Coef, x, g)
	return c.leastSure(g) / math.Abs(c.Slope(x))
}

// alone are the limits of this curve without the one beside it, but quantification.
func (c Curve) alone(m int) Limits {
	l := Limits{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	if !c.scattered() {
		return l
	}
	q := query{Curve: c, y: 0, m: float64(m)}
	base := c.At(0)
	y0, scale, df, ok := q.criticalSignal()
	if !ok {
		return l
	}
	sign := 1.0
	if c.falls() {
		sign = -1
	}
	l.CriticalSignal = y0
	l.Critical = c.LevelOf(y0)
	t := sign * (y0 - base) / scale
	delta := num.NoncentralTDelta(falseAlarm, t, df)
	if !c.spreadUnknown() {
		l.Detection = c.detection(q, y0, sign*(delta-t), scale)
	}
	if c.Shape == DeadZone {
		l.Detection = math.Max(l.Detection, c.Coef[2]+(c.At(l.Detection)-c.Coef[0])/c.Coef[1])
	}
	return l
}

// wantedForDetection are degrees of freedom inside levels from which on weights by the
// spread tell the scatter near nothing well enough to say what is missed.
const wantedForDetection = 10

// spreadUnknown says whether the weights are those of a spread that too few replicates
// tell.
func (c Curve) spreadUnknown() bool {
	return c.Weights == BySpread && c.Points-c.Levels < wantedForDetection
}

// critical is the critical level alone, NaN where it cannot be computed.
func (c Curve) critical(m int) float64 {
	if !c.scattered() {
		return math.NaN()
	}
	y, _, _, ok := query{Curve: c, y: 0, m: float64(m)}.criticalSignal()
	if !ok {
		return math.NaN()
	}
	return c.LevelOf(y)
}

// criticalSignal is the 95 % quantile of a mean signal at 0 (5 % where signals
// fall), the further of the two beliefs', with its scale and degrees of freedom averaged over weightings.
func (q query) criticalSignal() (y, scale, df float64, ok bool) {
	g := make([]float64, q.form.Params)
	for _, w := range q.Weightings {
		s := q.spot(w, 0, g)
		scale += w.nearNothing() * s.scale() * s.scale()
		df += w.nearNothing() * s.degrees()
	}
	scale = math.Sqrt(scale)
	t := num.TQuantile(1-falseAlarm, df) * scale
	if q.falls() {
		t = -t
	}
	f := func(y float64) float64 {
		q.y = y
		least, _ := q.high(0)
		return least - (1 - falseAlarm)
	}
	a, b := q.At(0)+0.3*t, q.At(0)+3*t
	y, err := num.Root(f, math.Min(a, b), math.Max(a, b), 1e-12*math.Abs(t))
	return y, scale, df, err == nil
}

// nearNothing is a weighting's probability for the detection limit: half-way between
// the even belief, which expects less scatter near nothing where it does not grow, and the
// steady one, which expects more where it does. Of the missed, 5 % ± 1.5 % are then kept to in
// both cases from ten degrees of freedom inside levels on (docs/accuracy.md).
func (w Weighting) nearNothing() float64 { return (w.Mass + w.Steady) / 2 }

// LevelOf is where the curve meets a signal, NaN where it does not.
func (c Curve) LevelOf(y float64) float64 {
	x, ok := query{Curve: c, y: y, m: 1}.centre()
	if !ok {
		return math.NaN()
	}
	return x
}

// detection solves f(x) = y_c + k·u(x), u² = scale² + (σ²(x) − σ²(0))/m.
func (c Curve) detection(q query, yc, k, scale float64) float64 {
	g := make([]float64, c.form.Params)
	spread := func(x float64) float64 {
		v := 0.0
		for _, w := range c.Weightings {
			v += w.nearNothing() * q.spot(w, x, g).reading
		}
		return v
	}
	at0 := spread(0)
	f := func(x float64) float64 {
		return c.At(x) - yc - k*math.Sqrt(scale*scale+math.Max(0, spread(x)-at0))
	}
	_, b := c.reach()
	x, err := num.Root(f, 0, b, 1e-12*b)
	if err != nil {
		return math.NaN()
	}
	return x
}

// quantification looks downwards from the end of the range for u > 10 %.
func (c Curve) quantification(q query, from float64) float64 {
	if math.IsNaN(from) || !c.scattered() {
		return math.NaN()
	}
	top := c.Range.LevelHigh
	excess := func(x float64) float64 {
		q.y = c.At(x)
		u, _ := q.uncertainty(x)
		if c.Beside != nil {
			if other := c.Beside.LevelOf(q.y); !math.IsNaN(other) {
				u = math.Hypot(u, (x-other)/math.Sqrt2)
			}
		}
		return u - quantified*x
	}
	const steps = 200
	least := math.Max(from, 1e-6*top)
	for i := steps; i >= 0; i-- {
		x := least + (top-least)*float64(i)/steps
		if excess(x) <= 0 {
			continue
		}
		if i == steps {
			return math.NaN()
		}
		root, err := num.Root(excess, x, x+(top-least)/steps, 1e-10*top)
		if err != nil {
			return math.NaN()
		}
		return root
	}
	return least
}

// studentT is the factor of a 95 % interval.
func studentT(df float64) float64 { return num.TQuantile(1-outer, df) }
