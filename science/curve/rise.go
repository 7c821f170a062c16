package curve

import (
	"math"

	"knownwater/science/num"
)

// Around is a number with the limits between which the true one lies with 95 %, by what the scatter of the signals leaves
// open: NaN where they are not known, an infinite High where nothing in the range would do.
type Around struct{ Value, Low, High float64 }

// Among is what the first of several curves through the same points has, with limits that hold by each of them: where by one of them nothing in
// the range would do there is no upper one.
func Among(curves []Curve, of func(Curve) Around) Around {
	out := of(curves[0])
	for _, c := range curves[1:] {
		if a := of(c); math.IsNaN(a.Value) {
			out.High = math.Inf(1)
		} else {
			out.Low, out.High = math.Min(out.Low, a.Low), math.Max(out.High, a.High)
		}
	}
	if math.IsNaN(out.Value) {
		return Around{math.NaN(), math.NaN(), math.NaN()}
	}
	return out
}

// riseChance is how surely a rise is to be shown as one.
const riseChance = 0.95

// Rise is the smallest rise of the concentration from x, both in the cell, that two signals, one each, show as a
// rise 95 times in 100. Both are read through the same curve, whose own errors and those of its knowns move them
// alike; what is left is the scatter of the two and how well the curve's steepness between them is known:
//
//	d: P(f(x+d) − f(x) + e > 0) = 95 %,  e ~ t_ν · sqrt(σ²(x) + σ²(x+d) + u²(f(x+d) − f(x)))
//
// averaged over the weightings as the detection limit is. For a line of slope b with even scatter S this is
// d = t √2 S / sqrt(b² − t² u_b²), a Fieller bound (E. C. Fieller 1954, J. R. Statist. Soc. B 16, 175). Low and
// High are those of the rise that shows with scatter and curve known, over what is open of both (reaches). x is from Range.LevelLow up; NaN: nothing in the range
// is told apart, or the scatter is not known.
func (c Curve) Rise(x float64) Around {
	none := Around{math.NaN(), math.NaN(), math.NaN()}
	if !c.scattered() || !(x >= c.Range.LevelLow) || !(x < c.Range.LevelHigh) {
		return none
	}
	out := none
	out.Value = c.rise(x, func(x2 float64) float64 { return c.told(x, x2) })
	if math.IsNaN(out.Value) {
		return none
	}
	open := c.scatters()
	low, high := c.between(x, c.Range.LevelHigh, func(x2 float64) (least, most float64) {
		return c.reaches(open, x, x2, func(v variance) float64 { return math.Sqrt(v.at(x) + v.at(x2)) })
	})
	out.Low, out.High = math.Min(low-x, out.Value), math.Max(high-x, out.Value)
	return out
}

// rise is the first concentration above x, up to the top of the range, where a chance reaches 95 %, less x.
func (c Curve) rise(x float64, chance func(float64) float64) float64 {
	if d := c.least(x, c.Range.LevelHigh, riseChance, chance) - x; !math.IsInf(d, 1) {
		return d
	}
	return math.NaN()
}

// least is the first concentration between two where a chance reaches p; infinite: it does not.
func (c Curve) least(lo, hi, p float64, chance func(float64) float64) float64 {
	if chance(hi) < p {
		return math.Inf(1)
	}
	for range 50 {
		if mid := (lo + hi) / 2; chance(mid) >= p {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// between are the first concentrations between two where the greater of two chances reaches 2.5 % and the lesser 97.5 %.
func (c Curve) between(lo, hi float64, chances func(float64) (least, most float64)) (low, high float64) {
	low = c.least(lo, hi, outer, func(x float64) float64 { _, most := chances(x); return most })
	high = c.least(lo, hi, 1-outer, func(x float64) float64 { least, _ := chances(x); return least })
	return low, high
}

// scatterSteps are quantiles of χ² over which a chance is averaged: limits by them are those of the integral to a thousandth.
const scatterSteps = 200

// scatters are ν/χ² of each weighting, equally likely.
func (c Curve) scatters() [][]float64 {
	out := make([][]float64, len(c.Weightings))
	for i, w := range c.Weightings {
		for k := range scatterSteps {
			out[i] = append(out[i], w.DF/num.ChiSquareQuantile((float64(k)+0.5)/scatterSteps, w.DF))
		}
	}
	return out
}

// reaches is how likely the curve's true rise from x to x2 is at least z₉₅ times the scatter of signals, spread in units of S: over what
// is open of both, the scatter S √(ν/χ²) (scatters), and given it the rise normal with the covariance of the coefficients. Of a line
// with even scatter that is the confidence of the non-central t. least and most are those of whoever expects the same scatter everywhere and of
// whoever expects it to grow.
func (c Curve) reaches(scatters [][]float64, x, x2 float64, spread func(variance) float64) (least, most float64) {
	z := num.PhiInv(riseChance)
	g, g2 := make([]float64, c.form.Params), make([]float64, c.form.Params)
	steady, growing := 0.0, 0.0
	for i, w := range c.Weightings {
		c.form.Gradient(w.Coef, x, g)
		c.form.Gradient(w.Coef, x2, g2)
		for j := range g {
			g2[j] -= g[j]
		}
		rise := c.form.At(w.Coef, x2) - c.form.At(w.Coef, x)
		if c.falls() {
			rise = -rise
		}
		noise, known := square(w.Noise, g2), 0.0
		if w.Known != nil {
			known = square(w.Known, g2)
		}
		wanted := z * w.Size * spread(w.Variance)
		p := 0.0
		for _, wide := range scatters[i] {
			p += num.Phi((rise-math.Sqrt(wide)*wanted)/math.Sqrt(wide*noise+known)) / scatterSteps
		}
		steady, growing = steady+w.Steady*p, growing+w.Growing*p
	}
	return math.Min(steady, growing), math.Max(steady, growing)
}

// told is the chance that a signal at the second of two concentrations lies further along than one at the first.
func (c Curve) told(x, x2 float64) float64 {
	q := query{Curve: c, m: 1}
	g, g2 := make([]float64, c.form.Params), make([]float64, c.form.Params)
	sum := 0.0
	for _, w := range c.Weightings {
		a, b := q.spot(w, x, g), q.spot(w, x2, g2)
		for i := range g {
			g2[i] -= g[i]
		}
		rise := b.mean - a.mean
		if c.falls() {
			rise = -rise
		}
		sum += w.nearNothing() * num.TCDF(rise/math.Sqrt(a.reading+b.reading+square(w.Noise, g2)), w.DF)
	}
	return sum
}

// DetectionAround is the detection limit of one signal with the limits of that which holds with scatter and curve known, z for t, over what is
// open of both (reaches). NaN as Limits says, and where the range begins above it: nobody looked how blanks scatter.
func (c Curve) DetectionAround() Around {
	d := c.Limits(1).Detection
	further := d - c.alone(1).Detection // by the curve beside
	if math.IsNaN(d) || d < c.Range.LevelLow {
		return Around{math.NaN(), math.NaN(), math.NaN()}
	}
	_, top := c.reach()
	open := c.scatters()
	low, high := c.between(0, top, func(x float64) (least, most float64) {
		return c.reaches(open, 0, x, func(v variance) float64 { return math.Sqrt(v.at(0)) + math.Sqrt(v.at(x)) })
	})
	return Around{d, math.Min(low, d), math.Max(high+further, d)}
}
