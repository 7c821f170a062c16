package curve

import (
	"math"

	"knownwater/science/note"
)

// Range is where a curve may be used.
type Range struct {
	SignalLow, SignalHigh float64
	LevelLow, LevelHigh   float64
	Why                   []note.Note // why it ends below the highest known; none where it does not
	Flat                  *Flat       // the knowns from its end up where their signals rise no more; nil where they do
}

// Flat are knowns from From up that cannot be told apart: at the one whose signal lies least far
// along, the mean of N signals and what is known of their scatter.
type Flat struct {
	From, Mean, SD, N, DF float64
	Why                   []note.Note
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
		c.Range.Flat = pr.flatFrom(k, c.heaviest())
		top = k
	}
	if c.Range.Flat != nil {
		c.Range.Why = c.Range.Flat.Why
	}
	if k := c.turning(pr, top); k < top {
		c.Range.Why = []note.Note{note.New("curve-turns-back").Number("level", pr.c[k])}
		top = k
	}
	c.setTop(pr.c[top])
	if k := c.unsure(pr, top); k < top {
		c.Range.Why = []note.Note{note.New("curve-too-flat").Number("level", pr.c[k])}
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

// plateau is the index of the level above which means do not rise any more:
// from the top down, steps that rise by no more than three standard errors
// where the steepest step below would lead to expect more than six. A
// polynomial does not know of saturation, so for it a step that rises by less than
// a tenth of the steepest is one too.
func (pr problem) plateau(c *Curve) int {
	last := pr.count() - 1
	up := pr.up()
	step := func(k int) float64 { return up * (pr.mean[k] - pr.mean[k-1]) / (pr.c[k] - pr.c[k-1]) }
	for k := last; k > 1; k-- {
		steepest := math.Inf(-1)
		for j := 1; j < k; j++ {
			steepest = math.Max(steepest, step(j))
		}
		wide := pr.c[k] - pr.c[k-1]
		rise, expected, se := step(k)*wide, steepest*wide, pr.stepError(c.heaviest(), k)
		if !(expected-rise > 6*se) || !(rise < 3*se || c.form.Linear && rise < 0.1*expected) {
			return k
		}
	}
	return 1
}

// up is 1 where signals rise with the level, −1 where they fall.
func (pr problem) up() float64 {
	if pr.mean[(pr.count()-1)/2] < pr.mean[0] {
		return -1
	}
	return 1
}

// flatFrom gathers the knowns from level k up.
func (pr problem) flatFrom(k int, w Weighting) *Flat {
	least := k
	for l := k; l < pr.count(); l++ {
		if pr.up()*(pr.mean[l]-pr.mean[least]) < 0 {
			least = l
		}
	}
	df := pr.replicates()
	if df == 0 {
		df = int(w.DF)
	}
	return &Flat{From: pr.c[k], Mean: pr.mean[least], SD: math.Sqrt(pr.scatter(w, least)), N: pr.n[least], DF: float64(df), Why: []note.Note{pr.whyFlat(k)}}
}

// reaches says whether the mean of m signals could well come from knowns that
// cannot be told apart (2.5 %).
func (f *Flat) reaches(y, m float64, falls bool) bool {
	if f == nil {
		return false
	}
	short := f.Mean - y
	if falls {
		short = -short
	}
	if !(f.DF > 0) { // their scatter is not known
		return short <= 0
	}
	return short <= studentT(f.DF)*f.SD*math.Sqrt(1/m+1/f.N)
}

// stepError is the standard error of the step up to level k.
func (pr problem) stepError(w Weighting, k int) float64 {
	return math.Sqrt(pr.scatter(w, k)/pr.n[k] + pr.scatter(w, k-1)/pr.n[k-1])
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

func (pr problem) whyFlat(k int) note.Note {
	last := pr.count() - 1
	if (pr.mean[last]-pr.mean[k])*(pr.mean[k]-pr.mean[0]) < 0 {
		return note.New("signal-turns-back").Number("from", pr.c[k]).Number("signal", pr.mean[k]).Number("top", pr.c[last]).Number("there", pr.mean[last])
	}
	return note.New("signal-saturated").Number("from", pr.c[k]).Number("signal", pr.mean[k]).Number("top", pr.c[last]).Number("there", pr.mean[last])
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
	if !c.scattered() {
		return top
	}
	for k := top; k >= 1 && pr.c[k] > 0; k-- {
		u, _ := query{Curve: *c, y: c.At(pr.c[k]), m: 1}.uncertainty(pr.c[k])
		if u <= tooUnsure*pr.c[k] {
			return k
		}
	}
	return top
}
