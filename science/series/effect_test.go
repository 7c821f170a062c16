package series_test

import (
	"math"
	"testing"

	"knownwater/science/num"
	"knownwater/science/series"
)

// plain is a water whose readings share nothing.
func plain(treated bool) series.Tried {
	w := series.Tried{Treated: treated}
	w.Spread, w.Shared = []float64{1}, [][]float64{nil}
	return w
}

func put(w *series.Tried, day, value, sd float64, after bool) {
	w.Days, w.Value, w.Var, w.After = append(w.Days, day), append(w.Value, value), append(w.Var, sd*sd), append(w.After, after)
	w.Shared[0] = append(w.Shared[0], 0)
}

type effectCase struct {
	Water          []string
	Day, Value, SD []float64
	Treated        []string
	AfterFrom      float64 `json:"after_from"`
	Effect, U      float64
	Low, High      float64
	Below1         float64 `json:"below_1"`
	TTest          struct {
		Treated, Control  []float64
		Effect, Low, High float64
	} `json:"t_test"`
}

func (c effectCase) waters() (out []series.Tried) {
	at := map[string]int{}
	for i, name := range c.Water {
		k, there := at[name]
		if !there {
			k = len(out)
			at[name] = k
			out = append(out, plain(name == c.Treated[0] || name == c.Treated[1]))
		}
		put(&out[k], c.Day[i], c.Value[i], c.SD[i], c.Day[i] >= c.AfterFrom)
	}
	return out
}

// testdata/effect.json: the same grid by dense algebra in R, which is held against nlme::gls there.
func TestEffectAsInR(t *testing.T) {
	var c effectCase
	load(t, "effect.json", &c)
	e, ok := series.EffectOf(c.waters())
	if !ok {
		t.Fatal("not ok")
	}
	near(t, "effect", e.Value, c.Effect, 1e-9)
	near(t, "u", e.U, c.U, 1e-9)
	near(t, "low", e.Low, c.Low, 1e-7)
	near(t, "high", e.High, c.High, 1e-7)
	near(t, "below 1", e.Below(1), c.Below1, 1e-9)
}

// Where waters take steps of their own and hardly anything else is left open, the interval is that
// of a t test of their steps.
func TestEffectAsTTest(t *testing.T) {
	var c effectCase
	load(t, "effect.json", &c)
	var waters []series.Tried
	for k, steps := range [][]float64{c.TTest.Control, c.TTest.Treated} {
		for _, s := range steps {
			w := plain(k == 1)
			for day := range 6 {
				v := 5 + 0.01*float64((day*7)%5)
				if day >= 3 {
					v += s
				}
				put(&w, 7*float64(day), v, 0.03, day >= 3)
			}
			waters = append(waters, w)
		}
	}
	e, _ := series.EffectOf(waters)
	near(t, "effect", e.Value, c.TTest.Effect, 0.02)
	near(t, "low", e.Low, c.TTest.Low, 0.15*(c.TTest.High-c.TTest.Effect))
	near(t, "high", e.High, c.TTest.High, 0.15*(c.TTest.High-c.TTest.Effect))
}

// Errors that treated and control waters share fall out, those of one side alone stay.
func TestSharedFallsOutOfAnEffect(t *testing.T) {
	waters := func(shared func(treated, after bool) float64) (out []series.Tried) {
		for k := range 4 {
			w := plain(k%2 == 1)
			w.Spread, w.Shared = make1(64), make([][]float64, 64)
			for day := range 10 {
				after := day >= 5
				w.Days, w.Value = append(w.Days, 7*float64(day)), append(w.Value, 4+0.1*math.Sin(float64(3*day+k)))
				w.Var, w.After = append(w.Var, 0.01), append(w.After, after)
				for d := range w.Shared {
					w.Shared[d] = append(w.Shared[d], shared(k%2 == 1, after)*num.PhiInv((float64(d)+0.5)/64))
				}
			}
			out = append(out, w)
		}
		return out
	}
	u := func(shared func(treated, after bool) float64) float64 {
		e, _ := series.EffectOf(waters(shared))
		return e.U
	}
	none := u(func(_, _ bool) float64 { return 0 })
	near(t, "all alike", u(func(_, _ bool) float64 { return 2 }), none, 1e-9)
	near(t, "another method after", u(func(_, after bool) float64 { return 2 * num01(after) }), none, 1e-9)
	near(t, "another method of each side", u(func(treated, _ bool) float64 { return 2 * num01(treated) }), none, 1e-9)
	if both := u(func(treated, after bool) float64 { return num01(treated && after) }); !(both > 0.95 && both > 3*none) {
		t.Errorf("a method that treated waters alone were read with afterwards: u %v, without %v", both, none)
	}
	if _, ok := series.EffectOf(waters(func(_, _ bool) float64 { return 0 })[:1]); ok {
		t.Error("an effect without treated waters")
	}
}

func num01(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// The smallest effect of a plan is called in four of five experiments in which it is there, made by another
// generator (departures by a Cholesky factor).
func TestSmallestEffectIsCalled(t *testing.T) {
	week := func(from, n int) (out []float64) {
		for i := range n {
			out = append(out, 7*float64(from+i))
		}
		return out
	}
	for _, p := range []series.Planned{
		{Treated: 1, Control: 1, Before: week(0, 5), After: week(5, 5), Scatter: 0.5, Wander: 0.3},
		{Treated: 3, Control: 2, Before: week(0, 4), After: week(4, 6), Scatter: 0.3, Wander: 0.6},
	} {
		least := p.Smallest(0.8)
		rng := num.Source(7)
		called := 0
		const runs = 300
		for range runs {
			var waters []series.Tried
			for i := range p.Treated + p.Control {
				w := plain(i < p.Treated)
				days := append(append([]float64{}, p.Before...), p.After...)
				away := covariant(days, p.Wander, rng.NormFloat64)
				for k, day := range days {
					v := away[k] + p.Scatter*rng.NormFloat64()
					if after := k >= len(p.Before); after && i < p.Treated {
						v += least
					}
					put(&w, day, v, p.Scatter, k >= len(p.Before))
				}
				waters = append(waters, w)
			}
			if e, _ := series.EffectOf(waters); e.Low > 0 {
				called++
			}
		}
		if share := float64(called) / runs; share < 0.72 || share > 0.88 {
			t.Errorf("%d and %d waters: an effect of %.2f is called in %.2f of experiments", p.Treated, p.Control, least, share)
		}
	}
}

// covariant are normals with covariance sd²·exp(−days/35), by the Cholesky factor.
func covariant(days []float64, sd float64, normal func() float64) []float64 {
	n := len(days)
	l := make([][]float64, n)
	z, out := make([]float64, n), make([]float64, n)
	for i := range l {
		l[i], z[i] = make([]float64, n), normal()
		for j := 0; j <= i; j++ {
			sum := sd * sd * math.Exp(-math.Abs(days[i]-days[j])/series.Memory)
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][j] = math.Sqrt(sum)
			} else {
				l[i][j] = sum / l[j][j]
			}
		}
		for j, v := range l[i] {
			out[i] += v * z[j]
		}
	}
	return out
}
