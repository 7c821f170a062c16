package record

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/response"
)

// knowledge draws level means y ± u at levels c, whose knowns are ± uc.
func knowledge(c, y, u, uc []float64, draws int, df float64) Knowledge {
	k := Knowledge{Level: c, Mean: y, DF: df}
	rng := num.Source(3)
	for range draws {
		d, z := make([]float64, len(c)), make([]float64, len(c))
		for i := range c {
			d[i] = y[i] + u[i]*rng.NormFloat64()
			z[i] = uc[i] * rng.NormFloat64()
		}
		k.Draw, k.Known = append(k.Draw, d), append(k.Known, z)
	}
	return k
}

// A line with errors in both agrees with York et al. 2004 (Am. J. Phys. 72,
// 367), which num.GeneralLine holds against the published figures, up to the noise of
// the draws that stand for the errors here.
func TestStraightLineAgainstYork(t *testing.T) {
	c := []float64{0, 1, 2, 5, 10, 20, 40}
	y := []float64{0.35, 1.2, 2.35, 5.1, 11.0, 20.6, 42.5}
	u := []float64{0.2, 0.2, 0.25, 0.3, 0.5, 1, 2}
	uc := []float64{0.05, 0.05, 0.05, 0.1, 0.2, 0.4, 0.8}
	want, err := num.GeneralLine(c, y, variances(uc), variances(u))
	if err != nil {
		t.Fatal(err)
	}
	par, se, _, err := StraightLine(knowledge(c, y, u, uc, 40000, math.Inf(1)))
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		name           string
		got, want, tol float64
	}{
		{"intercept", par[0], want.Intercept, 0.03 * want.SEIntercept},
		{"slope", par[1], want.Slope, 0.06 * want.SESlope}, // this fit does not move the points along c
		{"its error", se[1], want.SESlope, 0.03 * want.SESlope},
		{"intercept's error", se[0], want.SEIntercept, 0.03 * want.SEIntercept},
	} {
		if !(math.Abs(x.got-x.want) <= x.tol) { // no number is no agreement
			t.Errorf("%s: %v, York %v", x.name, x.got, x.want)
		}
	}
}

// variances are a covariance of errors that nothing shares.
func variances(u []float64) [][]float64 {
	v := make([][]float64, len(u))
	for i := range v {
		v[i] = make([]float64, len(u))
		v[i][i] = u[i] * u[i]
	}
	return v
}

// The smallest adequate shape is found where the level means can tell.
func TestFitFindsTheShape(t *testing.T) {
	c := []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	for _, x := range []struct {
		want   response.Name
		signal bool
		f      func(c float64) float64
	}{
		{response.Line, false, func(c float64) float64 { return 0.4 + 1.1*c }},
		{response.Saturating, false, func(c float64) float64 { return 0.7 + 1.05*c/(1+c/30) }},
		{response.DeadZone, false, func(c float64) float64 { return 2.4 + 0.58*0.25*math.Log1p(math.Exp((c-1.8)/0.25)) }},
		{response.StrayLight, true, func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.16*c)+0.01)/1.01) }},
		{response.Free, false, func(c float64) float64 { return 10 + 9*math.Tanh((c-9)/3) + c/50 }},
	} {
		y, u := make([]float64, len(c)), make([]float64, len(c))
		for i := range c {
			y[i] = x.f(c[i])
			u[i] = 0.004 * (0.1 + y[i])
		}
		k := knowledge(c, y, u, make([]float64, len(c)), 3000, 16)
		k.Signal = x.signal
		r, err := Fit(k)
		if err != nil {
			t.Fatal(err)
		}
		if r.Shape.Name != x.want {
			t.Errorf("got %s (%s), want %s", r.Shape.Name, r.Why.Code, x.want)
		}
		for i := range c {
			if !(math.Abs(r.At(c[i])-y[i]) <= 4*u[i]+1e-9) {
				t.Errorf("%s at %v: %v, want %v ± %v", x.want, c[i], r.At(c[i]), y[i], u[i])
			}
		}
		for i := 1; i < 200; i++ {
			lo, hi := r.At(float64(i-1)/5), r.At(float64(i)/5)
			if hi < lo-1e-12 {
				t.Fatalf("%s falls between %v and %v", r.Shape.Name, float64(i-1)/5, float64(i)/5)
			}
		}
	}
}

// Chances of order are what counting simulated readings gives.
func TestOrderAgainstCounting(t *testing.T) {
	chart := Shown{Answers: []Answer{
		{Seen: interval.Below(0.75)}, {Seen: interval.Interval{Low: 0.75, High: 2.25}}, {Seen: interval.Interval{Low: 2.25, High: 3.75}},
		{Seen: interval.Interval{Low: 3.75, High: 5.25}}, {Seen: interval.Above(5.25)}}}
	index := func(s Shown, y float64, phase float64) int {
		if s.Answers == nil {
			if s.Step == 0 {
				return int(math.Round(y * 1e6))
			}
			return int(math.Floor(y/s.Step + phase))
		}
		for i, a := range s.Answers {
			if y <= a.Seen.High {
				return i
			}
		}
		return -1
	}
	for name, s := range map[string]Shown{"chart": chart, "coarse display": {Step: 1}, "fine display": {Step: 0.1}, "signal": {}} {
		low, high := Normal{Mean: 2, SD: 0.6}, Normal{Mean: 3.1, SD: 0.8}
		above, same := s.Order(low, high)
		rng := num.Source(4)
		n, a, q := 400000, 0.0, 0.0
		for range n {
			phase := rng.Float64()
			i := index(s, low.Mean+low.SD*rng.NormFloat64(), phase)
			j := index(s, high.Mean+high.SD*rng.NormFloat64(), phase)
			if j > i {
				a++
			}
			if j == i {
				q++
			}
		}
		if tol := 3.5 * 0.5 / math.Sqrt(float64(n)); !(math.Abs(above-a/float64(n)) <= tol) || !(math.Abs(same-q/float64(n)) <= tol) {
			t.Errorf("%s: %.4f above, %.4f the same; counted %.4f and %.4f", name, above, same, a/float64(n), q/float64(n))
		}
	}
}

func TestUp(t *testing.T) {
	d := Shown{Step: 0.1}
	for y, want := range map[float64]float64{0.16: 0.25, 0.14: 0.15, -0.02: 0.05} {
		if got := d.Up(y); !(math.Abs(got-want) <= 1e-12) {
			t.Errorf("display: the boundary at %v or above is %v, want %v", y, got, want)
		}
	}
	c := Shown{Answers: []Answer{{Seen: interval.Below(2)}, {Seen: interval.Interval{Low: 2, High: 5}}, {Seen: interval.Above(5)}}}
	for y, want := range map[float64]float64{-3: 2, 2: 2, 2.01: 5, 7: math.Inf(1)} {
		if got := c.Up(y); got != want {
			t.Errorf("chart: the boundary at %v or above is %v, want %v", y, got, want)
		}
	}
}

// The p-value of lack of fit is uniform where the line is true: 5 % below 0.05.
func TestLackOfFitIsUniform(t *testing.T) {
	c := []float64{0, 1, 3, 6, 12, 20}
	const runs, reps = 800, 3
	rng := num.Source(8)
	below, df := 0, float64(len(c)*(reps-1))
	for range runs {
		y, u := make([]float64, len(c)), make([]float64, len(c))
		ss := 0.0
		for i := range c {
			v := make([]float64, reps)
			for j := range v {
				v[j] = c[i] + 0.5*rng.NormFloat64()
			}
			m, sd := num.MeanSD(v)
			y[i] = m
			ss += sd * sd * (reps - 1)
		}
		s := math.Sqrt(ss / df)
		for i := range u { // the width of a posterior: that of t with df degrees of freedom
			u[i] = s / math.Sqrt(reps) * math.Sqrt(df/(df-2))
		}
		_, _, p, err := StraightLine(knowledge(c, y, u, make([]float64, len(c)), 400, df))
		if err != nil {
			t.Fatal(err)
		}
		if p < 0.05 {
			below++
		}
	}
	if share := float64(below) / runs; !(math.Abs(share-0.05) <= 3*math.Sqrt(0.05*0.95/runs)) {
		t.Errorf("p below 0.05 in %.1f %% of trials", 100*share)
	}
}
