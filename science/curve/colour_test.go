package curve

import (
	"math"
	"slices"
	"testing"

	"knownwater/science/note"
)

// A water's own colour is taken off once, and its readings' scatter stays: with
// equal weights U² grows by S²/slope²·(1/2 + 1/3).
func TestOwnColour(t *testing.T) {
	points := []Point{}
	for i, y := range []float64{0.010, 0.012, 0.109, 0.112, 0.211, 0.208, 0.411, 0.409} {
		points = append(points, Point{Level: []float64{0, 1, 2, 4}[i/2], Signal: y, Dilution: 1, Row: i + 2})
	}
	d, err := Make(points, Options{Shape: Line, Weights: Equal}, Conversion{Kind: Absorbance, Path: 2}, Scope{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	plain, fault := d.Read(Sample{Signals: []float64{0.520, 0.524}})
	if fault != nil {
		t.Fatal(fault)
	}
	yellow, fault := d.Read(Sample{Signals: []float64{0.580, 0.584}, Own: []float64{0.061, 0.063}, Clear: []float64{0.001, 0.002, 0.003}})
	if fault != nil {
		t.Fatal(fault)
	}
	near(t, "level", yellow.Level, plain.Level, 1e-12)
	more := d.ResidualSD * d.ResidualSD / (d.Coef[1] * d.Coef[1]) * (1./2 + 1./3)
	near(t, "U²", yellow.U*yellow.U, plain.U*plain.U+more, 1e-12)
	if !(yellow.Low < plain.Low && yellow.High > plain.High) {
		t.Errorf("%g to %g without, %g to %g with a colour", plain.Low, plain.High, yellow.Low, yellow.High)
	}
	if !slices.ContainsFunc(yellow.Notes, note.New("own-colour-taken-off").Number("colour", 0.03).Equal) {
		t.Errorf("notes: %+v", yellow.Notes)
	}
	for column, c := range map[string]struct {
		kind Signal
		s    Sample
	}{
		"own_colour": {DisplayValue, Sample{Signals: []float64{0.2}, Own: []float64{0.1}}},
		"clear":      {Absorbance, Sample{Signals: []float64{0.2}, Clear: []float64{0.1}}},
	} {
		other := d
		other.Conversion = Conversion{Kind: c.kind}
		if _, f := other.Read(c.s); f == nil || f.Column != column {
			t.Errorf("%s: %v", column, f)
		}
	}
	if _, f := (Document{Curve: d.Curve, Conversion: Conversion{Kind: Percent}}).Read(Sample{Signals: []float64{50}, Own: []float64{-3}}); f == nil || math.IsNaN(plain.U) || f.Column != "own_colour" {
		t.Errorf("a colour that is no transmittance: %v", f)
	}
}

// The blank of transmittances is converted as they are: 97.7 % ± 0.5 % is
// 0.01010 ± 0.00222, as d(−log10 T) = dT/(T·ln 10).
func TestUnsure(t *testing.T) {
	a, u, f := (Conversion{Kind: Percent}).Unsure(97.7, 0.5)
	if f != nil {
		t.Fatal(f)
	}
	near(t, "signal", a, -math.Log10(0.977), 1e-14)
	near(t, "u", u, 0.5/97.7/math.Ln10, 1e-4)
	for column, v := range map[string][2]float64{"zero": {-3, 1}, "u_zero": {0.4, 0.5}} {
		if _, _, f := (Conversion{Kind: Percent}).Unsure(v[0], v[1]); f == nil || f.Column != column {
			t.Errorf("%v: %v", v, f)
		}
	}
}
