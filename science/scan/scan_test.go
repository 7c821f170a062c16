package scan

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// A dye band of 90 nm about 543 nm, noise that grows towards blue, and a yellow
// interferent that absorbs there.
func TestScan(t *testing.T) {
	r := num.Source(13)
	band := func(nm, centre, width float64) float64 {
		z := (nm - centre) / (width / 2.3548)
		return math.Exp(-z * z / 2)
	}
	s := Spectra{}
	for nm := 440.0; nm <= 660; nm += 2 {
		s.Wavelength = append(s.Wavelength, nm)
	}
	add := func(name string, level float64, interferent bool, a func(nm float64) float64) {
		v := Vial{Name: name, Level: level, Interferent: interferent}
		for _, nm := range s.Wavelength {
			v.Absorbance = append(v.Absorbance, a(nm)+0.003*r.NormFloat64())
		}
		s.Vials = append(s.Vials, v)
	}
	for _, c := range []float64{0, 2, 4, 6, 8} {
		for range 3 {
			add("", c, false, func(nm float64) float64 { return 0.16*c*band(nm, 543, 90) + 0.01 })
		}
	}
	add("yellow", 0, true, func(nm float64) float64 { return 0.3*band(nm, 430, 120) + 0.01 })
	got, err := Choose(s)
	if err != nil {
		t.Fatal(err)
	}
	if got.Best.Wavelength < 530 || got.Best.Wavelength > 580 {
		t.Errorf("chose %g nm", got.Best.Wavelength)
	}
	if len(got.Wide) != 3 {
		t.Fatalf("%d wide sources", len(got.Wide))
	}
	last := got.Best.Slope * 1.02 // noise alone may move one wavelength this much
	for _, w := range got.Wide {
		if w.Slope > last {
			t.Errorf("a source of %g nm is steeper: %g after %g", w.Width, w.Slope, last)
		}
		last = w.Slope
	}
	if !(got.Wide[2].Bend > got.Wide[0].Bend) {
		t.Error("a wider source bends less")
	}
	// At little colour a normal source of width s over a normal band of width w
	// sees ∫S·band/∫S = w/√(w² + s²) of the slope, where absorbances add.
	small := Spectra{Wavelength: s.Wavelength}
	for _, c := range []float64{0, 0.01, 0.02} {
		v := Vial{Level: c}
		for _, nm := range s.Wavelength {
			v.Absorbance = append(v.Absorbance, 0.16*c*band(nm, 543, 90))
		}
		small.Vials = append(small.Vials, v)
	}
	b, _ := small.wide(542, 40)
	if want := 0.16 * 90 / math.Hypot(90, 40); !(math.Abs(b.Slope-want) <= 2e-3*want) {
		t.Errorf("slope of a wide source %g, want %g", b.Slope, want)
	}
}
