package curve

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// lineOf is a line of even scatter, and its own least squares by textbook sums.
func lineOf(t *testing.T, scatter float64, levels ...float64) (c Curve, b, s, ub float64, df float64) {
	t.Helper()
	rng := num.Source(41)
	var points []Point
	var sx, sy, sxx, sxy float64
	for _, x := range levels {
		y := 0.02 + 0.05*x + scatter*rng.NormFloat64()
		points = append(points, Point{Level: x, Signal: y, Dilution: 1})
		sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	n := float64(len(points))
	b = (sxy - sx*sy/n) / (sxx - sx*sx/n)
	a := (sy - b*sx) / n
	rss := 0.0
	for _, p := range points {
		e := p.Signal - a - b*p.Level
		rss += e * e
	}
	df = n - 2
	s = math.Sqrt(rss / df)
	ub = s / math.Sqrt(sxx-sx*sx/n)
	fits, err := Fits(points, Options{Shape: "line", Weights: Equal})
	if err != nil {
		t.Fatal(err)
	}
	return fits[0].Curve, b, s, ub, df
}

// The smallest rise of a line with even scatter is Fieller's bound, anywhere on it; t of 10 degrees of freedom at 95 % is
// 1.8125 (any table).
func TestRiseOnALine(t *testing.T) {
	c, b, s, ub, df := lineOf(t, 0.004, 0, 0, 0, 1, 1, 2, 2, 5, 5, 10, 10, 10)
	const t95 = 1.8124611228107335
	want := t95 * math.Sqrt2 * s / math.Sqrt(b*b-t95*t95*ub*ub)
	for _, x := range []float64{0, 0.3, 4, 7} {
		got := c.Rise(x)
		if math.Abs(got.Value-want) > 1e-6*want || df != 10 {
			t.Errorf("from %g: %.8f, by hand %.8f", x, got.Value, want)
		}
		// b/u_b is non-central t about δ = z √2 S/(d u_b): limits of d by those of δ; z at 95 %: 1.6449
		limit := func(p float64) float64 { return 1.6448536 * math.Sqrt2 * s / ub / num.NoncentralTDelta(p, b/ub, df) }
		if low, high := limit(0.025), limit(0.975); math.Abs(got.Low-low) > 1e-3*low || math.Abs(got.High-high) > 1e-3*high {
			t.Errorf("from %g: limits %.6f and %.6f, by hand %.6f and %.6f", x, got.Low, got.High, low, high)
		}
	}
	if got := c.Rise(9.99); !math.IsNaN(got.Value) {
		t.Errorf("from the top: %v", got)
	}
	if got := c.Rise(-1); !math.IsNaN(got.Value) {
		t.Errorf("from below the range: %v", got)
	}
	d := c.DetectionAround()
	if l := c.Limits(1); d.Value != l.Detection || !(d.Low < d.Value && d.Value < d.High) {
		t.Errorf("detection %v, by the limits %v", d, l.Detection)
	}
	low := 2 * 1.6448536 * s / ub / num.NoncentralTDelta(0.025, b/ub, df)
	if math.Abs(d.Low-low) > 1e-3*low {
		t.Errorf("detection from %.6f, by hand %.6f", d.Low, low)
	}
}

// A steepness that is hardly known is in the limits of the rise: they are those of the non-central t, further
// from the rise than those by the scatter alone.
func TestRiseOnAShallowLine(t *testing.T) {
	c, b, s, ub, df := lineOf(t, 0.012, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2)
	c.Range.LevelHigh = 40 // far enough for the limits
	got := c.Rise(0)
	limit := func(p float64) float64 { return 1.6448536 * math.Sqrt2 * s / ub / num.NoncentralTDelta(p, b/ub, df) }
	if low, high := limit(0.025), limit(0.975); math.Abs(got.Low-low) > 2e-3*low || math.Abs(got.High-high) > 2e-3*high {
		t.Errorf("limits %.5f and %.5f, by hand %.5f and %.5f", got.Low, got.High, low, high)
	}
	byScatter := 1.6448536 * math.Sqrt2 * s * math.Sqrt(df/num.ChiSquareQuantile(0.025, df)) / b
	if !(got.High > 1.03*byScatter) {
		t.Errorf("up to %.4f, by the scatter alone up to %.4f (u of the steepness %.0f %%)", got.High, byScatter, 100*ub/b)
	}
}

// Where nothing was read near nothing, nobody knows what shows there; falling signals tell the same as rising ones.
func TestRiseAtTheEdges(t *testing.T) {
	rng := num.Source(42)
	var up, down, high []Point
	for _, x := range []float64{0, 0, 1, 1, 2, 2, 5, 5, 10, 10} {
		y := 0.02 + 0.05*x + 0.004*rng.NormFloat64()
		up, down = append(up, Point{Level: x, Signal: y, Dilution: 1}), append(down, Point{Level: x, Signal: 3 - y, Dilution: 1})
		high = append(high, Point{Level: x + 5, Signal: y, Dilution: 1})
	}
	fit := func(points []Point) Curve {
		fits, err := Fits(points, Options{Shape: "line", Weights: Equal})
		if err != nil {
			t.Fatal(err)
		}
		return fits[0].Curve
	}
	a, b := fit(up).Rise(1), fit(down).Rise(1)
	if math.Abs(a.Value-b.Value) > 1e-9 || math.Abs(a.High-b.High) > 1e-9 {
		t.Errorf("rising %v, falling %v", a, b)
	}
	if d := fit(high).DetectionAround(); !math.IsNaN(d.Value) {
		t.Errorf("from 5 up: %v shows", d)
	}
}
