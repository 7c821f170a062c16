package curve

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"knownwater/science/note"
)

// hinge rises by 0.1 a unit up to 0.62 and then no more.
func hinge() (points []Point) {
	for level, y := range map[float64][2]float64{0: {0.01, 0.012}, 1: {0.11, 0.112}, 2: {0.21, 0.209}, 4: {0.42, 0.41}, 8: {0.62, 0.61}, 16: {0.63, 0.62}} {
		for _, v := range y {
			points = append(points, Point{Level: level, Signal: v, Dilution: 1, Row: len(points) + 2})
		}
	}
	return points
}

// Saturated knowns take no part in a curve that they would bend; they stay where a
// shape was asked for. Either way nothing is said of how far up a signal of theirs lies.
func TestSaturatedKnowns(t *testing.T) {
	for _, c := range []struct {
		o         Options
		shape     Shape
		top, ends float64
	}{
		{Options{}, Line, 4, 4},
		{Options{Shape: Quadratic}, Quadratic, 16, 8},
		{Options{Shape: Saturating}, Saturating, 16, 8},
	} {
		d, err := Make(hinge(), c.o, Conversion{Kind: Absorbance}, Scope{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if d.Shape != c.shape || d.Top != c.top || d.Range.LevelHigh != c.ends || !slices.ContainsFunc(d.Range.Why, func(n note.Note) bool { return n.Code == "signal-saturated" && n.Numbers["from"][0] == 8 }) {
			t.Errorf("%+v: %s up to %g, fitted to %g: %s", c.o, d.Shape, d.Range.LevelHigh, d.Top, codes(d.Range.Why))
		}
		text, err := json.Marshal(d.JSON(codes))
		if err != nil {
			t.Fatal(err)
		}
		again, err := Open(text)
		if err != nil {
			t.Fatal(err)
		}
		for _, y := range []float64{0.605, 0.625} {
			for _, d := range []Document{d, again} {
				r := d.Curve.Read(Sample{Signals: []float64{y}})
				if !math.IsNaN(r.High) || !math.IsNaN(r.Level) || !(r.Low > 3 && r.Low <= 8) {
					t.Errorf("%+v: %g reads %g, %g to %g", c.o, y, r.Level, r.Low, r.High)
				}
			}
		}
		for _, p := range d.Points {
			if fitted := !math.IsNaN(p.Residual); fitted != (p.Level <= c.top) {
				t.Errorf("%+v: level %g fitted to: %t", c.o, p.Level, fitted)
			}
		}
	}
	c, err := Fit(hinge(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r := c.Read(Sample{Signals: []float64{0.31}}); !(math.Abs(r.Level-3) <= 0.05) || !(math.Abs(c.Coef[1]-0.1) <= 0.002) {
		t.Errorf("slope %g; 0.31 reads %g, 3 in truth", c.Coef[1], r.Level)
	}
}
