package curve

import (
	"math"

	"knownwater/science/num"
)

// Around is a number with the limits between which the true one lies with 95 %, by what the scatter of the signals leaves
// open: NaN where they are not known, an infinite High where nothing in the range would do.
type Around struct{ Value, Low, High float64 }

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
// High take S √(ν/χ²) for the scatter and the curve as it is. x is from Range.LevelLow up; NaN: nothing in the range
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
	w := c.heaviest()
	known := func(p float64) float64 {
		k := math.Sqrt(w.DF / num.ChiSquareQuantile(p, w.DF))
		d := c.rise(x, func(x2 float64) float64 {
			return num.Phi(math.Abs(c.At(x2)-c.At(x)) / (k * w.Size * math.Sqrt(w.Variance.at(x)+w.Variance.at(x2))))
		})
		if math.IsNaN(d) {
			return math.Inf(1)
		}
		return d
	}
	out.Low, out.High = math.Min(known(0.975), out.Value), math.Max(known(0.025), out.Value)
	return out
}

// rise is the first concentration above x, up to the top of the range, where a chance reaches 95 %, less x.
func (c Curve) rise(x float64, chance func(float64) float64) float64 {
	lo, hi := x, c.Range.LevelHigh
	if chance(hi) < riseChance {
		return math.NaN()
	}
	for range 50 {
		if mid := (lo + hi) / 2; chance(mid) >= riseChance {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi - x
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

// DetectionAround is the detection limit of one signal with the limits that the scatter of the signals leaves it: for these
// the scatter is S √(ν/χ²) and known, so that z stands for t. NaN as Limits says, and where the range begins above it:
// nobody looked how blanks scatter.
func (c Curve) DetectionAround() Around {
	none := Around{math.NaN(), math.NaN(), math.NaN()}
	d := c.Limits(1).Detection
	if math.IsNaN(d) || d < c.Range.LevelLow {
		return none
	}
	w := c.heaviest()
	z := num.PhiInv(1 - falseAlarm)
	known := func(p float64) float64 {
		k := z * w.Size * math.Sqrt(w.DF/num.ChiSquareQuantile(p, w.DF))
		f := func(x float64) float64 {
			return math.Abs(c.At(x)-c.At(0)) - k*(math.Sqrt(w.Variance.at(0))+math.Sqrt(w.Variance.at(x)))
		}
		_, top := c.reach()
		x, err := num.Root(f, 0, top, 1e-10*top)
		if err != nil {
			return math.Inf(1)
		}
		return x
	}
	return Around{d, math.Min(known(0.975), d), math.Max(known(0.025), d)}
}
