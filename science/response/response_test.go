package response

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// coefficients that every shape can have, by name.
var some = map[Name][]float64{
	Line: {0.4, 1.1}, Quadratic: {0.4, 1.1, -0.01}, Cubic: {0.4, 1.1, -0.01, 2e-4},
	Saturating: {0.7, 1.05, 1.0 / 30}, StrayLight: {0.012, 0.16, 0.01}, DeadZone: {2.4, 0.58, 1.8},
}

// Values worked by hand from the formulas (the dead zone's at its end: w·ln 2).
func TestValues(t *testing.T) {
	for n, want := range map[Name]float64{
		Line: 0.4 + 1.1*6, Quadratic: 0.4 + 1.1*6 - 0.01*36, Cubic: 0.4 + 1.1*6 - 0.01*36 + 2e-4*216,
		Saturating: 0.7 + 1.05*6/(1+0.2), StrayLight: 0.012 - math.Log10((math.Pow(10, -0.96)+0.01)/1.01),
	} {
		if got := Of(n).At(some[n], 6); !(math.Abs(got-want) <= 1e-14) {
			t.Errorf("%s: %v, want %v", n, got, want)
		}
	}
	if got, want := Of(DeadZone).At(some[DeadZone], 1.8), 2.4+0.58*0.15*1.8*math.Ln2; !(math.Abs(got-want) <= 1e-14) {
		t.Errorf("dead zone: %v, want %v", got, want)
	}
	// slopes of the chords 2 and 2: straight; 2 and 1, the pieces 1 and 3 wide: at 1 12/(7/2 + 5/1) = 24/17, so that
	// 2 lies at 3 + 1 + 3·(1/3)(2/3)·(2/3)(24/17 − 1) − 3·(1/3)(2/3)·(1/3)(1/4 − 1), the parabola's slope at 4 being (7·1 − 3·2)/4
	for _, c := range []struct{ last, want float64 }{{9, 5}, {6, 4 + 4./9*7./17 + 2./9*3./4}} {
		if got := FreeOn([]float64{0, 1, 4}).At([]float64{1, 3, c.last}, 2); !(math.Abs(got-c.want) <= 1e-14) {
			t.Errorf("free, ending at %v: %v, want %v", c.last, got, c.want)
		}
	}
}

// A response that flattens off lies above the chords between its knowns; what goes through them follows it within a
// third of that, never falls, and goes on straight beyond them. Its slope is that of the value.
func TestBetweenLevels(t *testing.T) {
	knots := []float64{0, 1, 2.5, 5, 10, 20, 40}
	for _, f := range []func(c float64) float64{
		func(c float64) float64 { return 1.2 * c / (1 + c/30) },
		func(c float64) float64 { return 12 * math.Log1p(c/12) },
		func(c float64) float64 { return 0.5 + 30*(1-math.Exp(-c/14)) },
	} {
		p := make([]float64, len(knots))
		for i, c := range knots {
			p[i] = f(c)
		}
		free := FreeOn(knots)
		for i := range knots[1:] {
			a, b := knots[i], knots[i+1]
			if off, chord := f((a+b)/2)-free.At(p, (a+b)/2), f((a+b)/2)-(p[i]+p[i+1])/2; math.Abs(off) > chord/3 {
				t.Errorf("half way from %v to %v it is off by %v, the chord by %v", a, b, off, chord)
			}
			for k := range 20 {
				c := a + (b-a)*(float64(k)+0.5)/20
				h := 1e-5 * (b - a)
				if got, want := free.Slope(p, c), (free.At(p, c+h)-free.At(p, c-h))/(2*h); !(math.Abs(got-want) <= 1e-7) || got < 0 {
					t.Errorf("slope at %v is %v, by differences %v", c, got, want)
				}
			}
		}
		if got, want := free.At(p, 60), 2*p[6]-p[5]; !(math.Abs(got-want) <= 1e-12) {
			t.Errorf("beyond the knots: %v, want %v", got, want)
		}
	}
	flat := []float64{1, 1, 1, 3, 8, 8, 8}
	for c, last := 0.0, 1.0; c <= 40; c += 0.05 {
		now := FreeOn(knots).At(flat, c)
		if now < last-1e-12 || now > 8+1e-12 {
			t.Errorf("falls or goes beyond its levels at %v: %v after %v", c, now, last)
		}
		last = now
	}
}

// Slope and gradient are those of the value, by differences of fourth order.
func TestSlopesAndGradients(t *testing.T) {
	difference := func(f func(h float64) float64, h float64) float64 {
		return (8*(f(h)-f(-h)) - (f(2*h) - f(-2*h))) / (12 * h)
	}
	for _, s := range All {
		p := some[s.Name]
		for _, c := range []float64{0, 0.3, 1.7, 2.1, 9, 25} {
			check := func(what string, got, want float64) {
				if !(math.Abs(got-want) <= 1e-8*math.Max(1, math.Abs(want))) {
					t.Errorf("%s at %v: %s %v, by differences %v", s.Name, c, what, got, want)
				}
			}
			check("slope", s.Slope(p, c), difference(func(h float64) float64 { return s.At(p, c+h) }, 1e-3))
			g := make([]float64, s.Params)
			s.Gradient(p, c, g)
			for j := range p {
				check("gradient", g[j], difference(func(h float64) float64 {
					q := append([]float64(nil), p...)
					q[j] += h
					return s.At(q, c)
				}, 1e-3*math.Abs(p[j])))
			}
		}
	}
}

// Stretching the concentrations is what Powers say; every coefficient has its meaning.
func TestPowersAndMeanings(t *testing.T) {
	const k = 0.8
	for _, s := range All {
		p := some[s.Name]
		q := append([]float64(nil), p...)
		for j := range q {
			q[j] *= math.Pow(k, s.Powers[j])
		}
		for _, c := range []float64{0.5, 3, 20} {
			if a, b := s.At(p, k*c), s.At(q, c); !(math.Abs(a-b) <= 1e-12) {
				t.Errorf("%s: %v at %v·%v, stretched %v", s.Name, a, k, c, b)
			}
		}
		if len(s.Means) != s.Params || len(p) != s.Params || s.Formula == "" || !s.Sound(p, 40) {
			t.Errorf("%s lacks a meaning, a formula or soundness", s.Name)
		}
	}
}

// From some start the search finds the coefficients that answers without scatter came from.
func TestStartsArrive(t *testing.T) {
	c := []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	for _, s := range All {
		if s.Linear {
			continue
		}
		p := some[s.Name]
		y := make([]float64, len(c))
		for i := range c {
			y[i] = s.At(p, c[i])
		}
		q, err := num.Polynomial(c, y, nil, 2)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, start := range s.Starts(q.Coef, c, y) {
			fit, err := num.Nonlinear{Y: y, Model: func(p, fitted []float64) {
				for i := range c {
					fitted[i] = s.At(p, c[i])
				}
			}}.Fit(start)
			if err == nil && math.Abs(fit.Coef[2]-p[2]) < 1e-4*p[2] {
				found = true
			}
		}
		if !found {
			t.Errorf("%s: no start arrives at %v", s.Name, p)
		}
	}
}
