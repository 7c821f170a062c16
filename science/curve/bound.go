package curve

import (
	"fmt"
	"math"
)

// Range is where a curve may be used.
type Range struct {
	SignalLow, SignalHigh float64
	LevelLow, LevelHigh   float64
	Why                   string // why it ends below the highest known; empty where it does not
}

// Of one result at the top of the range, u is at most 15 % (95 %: ±30 %).
const tooUnsure = 0.15

// bound finds the measured range: from the lowest known to the highest, or to
// the highest below which the signal still rises and one result is still good
// to ±30 %. (That limit is our own convention.) A curve of which no known
// reaches that is not cut.
func (c *Curve) bound(pr problem) {
	top := pr.count() - 1
	c.Range.LevelLow, c.Range.LevelHigh = pr.c[0], pr.c[top]
	if k := pr.plateau(c); k < top {
		c.Range.Why = fmt.Sprintf("saturated: above %.4g the signal hardly rises any more, %s", pr.c[k], pr.flatWords(k))
		top = k
	}
	if k := c.turning(pr, top); k < top {
		c.Range.Why = fmt.Sprintf("above %.4g the curve turns back", pr.c[k])
		top = k
	}
	c.setTop(pr.c[top])
	if k := c.unsure(pr, top); k < top {
		c.Range.Why = fmt.Sprintf("above %.4g the curve is too flat for its scatter: one result is unsure by more than 30 %%", pr.c[k])
		c.setTop(pr.c[k])
	}
}

func (c *Curve) setTop(x float64) {
	r := &c.Range
	r.LevelHigh = x
	r.SignalLow, r.SignalHigh = c.At(r.LevelLow), c.At(x)
	if r.SignalLow > r.SignalHigh {
		r.SignalLow, r.SignalHigh = r.SignalHigh, r.SignalLow
	}
}

// plateau is the index of the level above which means rise less than a seventh
// of what the levels below would lead to expect, by clearly more than scatter.
func (pr problem) plateau(c *Curve) int {
	last := pr.count() - 1
	w := c.heaviest()
	for k := 1; k < last; k++ {
		expected := math.Abs(pr.mean[k]-pr.mean[0]) / (pr.c[k] - pr.c[0]) * (pr.c[last] - pr.c[k])
		rise := pr.mean[last] - pr.mean[k]
		if pr.mean[k] < pr.mean[0] {
			rise = -rise
		}
		s2 := pr.scatter(w, k) / pr.n[k]
		s2 += pr.scatter(w, last) / pr.n[last]
		if rise < expected/7 && expected-rise > 6*math.Sqrt(s2) {
			return k
		}
	}
	return last
}

// scatter is the variance of one signal at a level: that of replicates where
// there are any, as a curve that does not fit says nothing about it.
func (pr problem) scatter(w Weighting, l int) float64 {
	if nu := pr.replicates(); nu > 0 {
		v := w.Variance.of(pr.c)
		return pr.pure(v) / float64(nu) * v[l]
	}
	if math.IsNaN(w.Size) {
		return 0
	}
	return w.Size * w.Size * w.Variance.at(pr.c[l])
}

func (pr problem) flatWords(k int) string {
	last := pr.count() - 1
	return fmt.Sprintf("%.4g at %.4g and %.4g at %.4g", pr.mean[k], pr.c[k], pr.mean[last], pr.c[last])
}

// turning is the highest level up to which the curve keeps its direction.
func (c *Curve) turning(pr problem, top int) int {
	for k := top; k >= 1; k-- {
		if rising(c.form, c.Coef, pr.c[0], pr.c[k]) {
			return k
		}
	}
	return top
}

// unsure is the highest level where one result is good to ±30 %; top where none is.
func (c *Curve) unsure(pr problem, top int) int {
	if !(c.ResidualSD > 0) {
		return top
	}
	for k := top; k >= 1 && pr.c[k] > 0; k-- {
		u, _ := query{*c, c.At(pr.c[k]), 1, 0}.uncertainty(pr.c[k])
		if u <= tooUnsure*pr.c[k] {
			return k
		}
	}
	return top
}
