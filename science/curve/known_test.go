package curve

import (
	"encoding/json"
	"math"
	"testing"

	"knownwater/science/note"
	"knownwater/science/num"
)

// A stock's error that all knowns share moves the slope alone: with it, u(slope)
// grows by exactly slope·u, and every level read back by level·u.
func TestSharedStock(t *testing.T) {
	points := pointsOf([]float64{0, 0, 0, 5, 5, 5, 10, 10, 10}, []float64{0.011, 0.013, 0.009, 0.412, 0.409, 0.414, 0.811, 0.807, 0.812})
	without := mustFit(t, points, Options{Shape: Line, Weights: Equal})
	with := mustFit(t, points, Options{Shape: Line, Weights: Equal, Shared: 0.02})
	near(t, "slope", with.Coef[1], without.Coef[1], 1e-6)
	// S is that of replicates where knowns have errors, of residuals where not
	s := with.ResidualSD / without.ResidualSD
	near(t, "u(slope)", with.SE(1), math.Hypot(s*without.SE(1), with.Coef[1]*0.02), 1e-4)
	a, b := without.Read(Sample{Signals: []float64{0.6}}), with.Read(Sample{Signals: []float64{0.6}})
	near(t, "u", b.U, math.Hypot(s*a.U, b.Level*0.02), 1e-3)
	for _, p := range b.Parts {
		if p.Name == "knowns" {
			near(t, "part", p.U, b.Level*0.02, 1e-4)
		}
	}
	if b.Parts[0].Name != "knowns" {
		t.Errorf("largest part is %v", b.Parts[0])
	}
}

// A background's error that all knowns share moves every level alike: u(slope) stays, every level read back keeps all of it,
// where levels that each have an error of that size average most of it away. Beside a stock's error both count.
func TestSharedBackground(t *testing.T) {
	points := pointsOf([]float64{0, 0, 0, 5, 5, 5, 10, 10, 10}, []float64{0.011, 0.013, 0.009, 0.412, 0.409, 0.414, 0.811, 0.807, 0.812})
	const water, stock = 0.2, 0.02
	u := func(c Curve, signal float64) float64 { return c.Read(Sample{Signals: []float64{signal}}).U }
	without := mustFit(t, points, Options{Shape: Line, Weights: Equal})
	stocked := mustFit(t, points, Options{Shape: Line, Weights: Equal, Shared: stock})
	for i := range points {
		points[i].ULevel = math.Hypot(water, stock*points[i].Level)
	}
	apart := mustFit(t, points, Options{Shape: Line, Weights: Equal, Shared: stock})
	for i := range points {
		points[i].UBackground = water
	}
	both := mustFit(t, points, Options{Shape: Line, Weights: Equal, Shared: stock})
	near(t, "slope", both.Coef[1], without.Coef[1], 1e-6)
	near(t, "u(slope)", both.SE(1), stocked.SE(1), 1e-4)
	for _, y := range []float64{0.1, 0.4, 0.7} {
		near(t, "u", u(both, y), math.Hypot(u(stocked, y), water), 1e-3)
	}
	if !(u(apart, 0.4) < 0.8*u(both, 0.4)) {
		t.Errorf("each by itself %g, of one water %g", u(apart, 0.4), u(both, 0.4))
	}
	d := Document{Curve: both, Choices: Choices{Shared: stock}}
	for _, p := range points {
		d.Points = append(d.Points, PointBack{Point: p})
	}
	text, err := json.Marshal(d.JSON(func(ns []note.Note) []string { return make([]string, len(ns)) }))
	if err != nil {
		t.Fatal(err)
	}
	if again, err := Open(text); err != nil || again.Points[4].UBackground != water {
		t.Errorf("%v, out of the file %+v", err, again.Points)
	}
	if fs := Impossible([]Point{{Level: 1, ULevel: 0.1, UBackground: 0.2, Dilution: 1}}); fs == nil {
		t.Error("a part larger than the whole is taken")
	}
}

// With each known's own error in the level and none in the signal to speak of, a
// quadratic must come out as R's generalised least squares would have it: here,
// as num.GLS with the covariance written out by hand.
func TestKnownsOwnErrors(t *testing.T) {
	x := []float64{0, 2, 4, 6, 8, 10}
	y := []float64{0.010, 0.168, 0.314, 0.461, 0.596, 0.724}
	points := pointsOf(x, y)
	points = append(points, points...)
	for i := range points {
		points[i].ULevel = 0.02 + 0.01*points[i].Level
		if i >= len(x) {
			points[i].Signal += 0.002
		}
	}
	c := mustFit(t, points, Options{Shape: Quadratic, Weights: Equal, Sure: true})
	size2 := 0.0
	for range x {
		size2 += 2 * 0.001 * 0.001
	}
	size2 /= float64(len(x))
	near(t, "S²", c.ResidualSD*c.ResidualSD, size2, 1e-9)
	X, V, mean := make([][]float64, len(x)), make([][]float64, len(x)), make([]float64, len(x))
	for i := range x {
		slope := c.Slope(x[i])
		u := 0.02 + 0.01*x[i]
		X[i], V[i], mean[i] = []float64{1, x[i], x[i] * x[i]}, make([]float64, len(x)), y[i]+0.001
		V[i][i] = size2/2 + slope*slope*u*u
	}
	fit, err := num.GLS(X, mean, V)
	if err != nil {
		t.Fatal(err)
	}
	for j := range fit.Coef {
		near(t, "coefficient", c.Coef[j], fit.Coef[j], 1e-6)
		near(t, "standard error", c.SE(j), fit.KnownSE(j), 1e-4)
	}
}

// Without replicates the misfit, less what the knowns explain, is the scatter.
func TestKnownsWithoutReplicates(t *testing.T) {
	points := pointsOf([]float64{0, 2, 4, 6, 8, 10}, []float64{0.012, 0.166, 0.335, 0.480, 0.652, 0.806})
	exact := mustFit(t, points, plain)
	last := math.Inf(1)
	for _, u := range []float64{0.005, 0.02, 0.05, 0.1, 1} {
		for i := range points {
			points[i].ULevel = u
		}
		c := mustFit(t, points, plain)
		if !(c.ResidualSD < exact.ResidualSD && c.ResidualSD <= last) {
			t.Errorf("u %g: S %g after %g, exact knowns %g", u, c.ResidualSD, last, exact.ResidualSD)
		}
		if !(c.SE(1) > 0) || !(c.Read(Sample{Signals: []float64{0.4}}).U > 0) {
			t.Errorf("u %g leaves no uncertainty", u)
		}
		last = c.ResidualSD
	}
}

// Of knowns measured once signals scatter by what the misfit leaves beside the knowns' errors: of a line, and knowns each known to u, by
// S² = Σ r²/(n − 2) − (b·u)², r the residuals of ordinary least squares, which no S moves then; where the knowns' errors are enough for all of it by next to nothing.
func TestScatterBesideKnownsMeasuredOnce(t *testing.T) {
	points := pointsOf([]float64{0, 2, 4, 6, 8, 10}, []float64{0.013, 0.158, 0.329, 0.471, 0.655, 0.79})
	exact := mustFit(t, points, Options{Shape: Line, Weights: Equal})
	all, slope := exact.ResidualSD, exact.Coef[1]
	for _, share := range []float64{0.01, 0.5, 0.9, 1.5} { // of the scatter that the knowns' errors are
		for i := range points {
			points[i].ULevel = share * all / slope
		}
		c := mustFit(t, points, Options{Shape: Line, Weights: Equal})
		want := all * math.Sqrt(math.Max(0, 1-share*share))
		if !(math.Abs(c.ResidualSD-want) <= 0.011*all) {
			t.Errorf("knowns' errors %g of all scatter: S %.5g, want %.5g", share, c.ResidualSD, want)
		}
	}
}
