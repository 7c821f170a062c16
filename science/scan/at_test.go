package scan

import (
	"math"
	"testing"
)

// TestScanAtAnotherWavelength: a scan about a wavelength of one's own has that band and
// the sources about it, and the good ones are those near the largest slope against noise.
func TestScanAtAnotherWavelength(t *testing.T) {
	s := Spectra{}
	for nm := 480.0; nm <= 620; nm += 5 {
		s.Wavelength = append(s.Wavelength, nm)
	}
	for i, c := range []float64{0, 0, 3, 3, 6, 6} {
		v := Vial{Level: c}
		for k, nm := range s.Wavelength {
			v.Absorbance = append(v.Absorbance, 0.15*c*math.Exp(-math.Pow((nm-545)/50, 2))+0.001*float64((7*i+3*k)%5-2))
		}
		s.Vials = append(s.Vials, v)
	}
	scan, err := Choose(s)
	if err != nil {
		t.Fatal(err)
	}
	other, ok := scan.At(s, 520)
	if !ok || other.Best.Wavelength != 520 || len(other.Wide) != 3 || other.Wide[1].Wavelength != 520 || scan.Best.Wavelength == 520 {
		t.Errorf("about 520: %v, %+v", ok, other.Best)
	}
	if want, _ := s.wide(520, 30); other.Wide[1] != want {
		t.Errorf("the source of 30 nm: %+v, want %+v", other.Wide[1], want)
	}
	if same, _ := scan.At(s, scan.Best.Wavelength); same.Best != scan.Best {
		t.Errorf("about the best: %+v", same.Best)
	}
	if edge, ok := scan.At(s, 490); !ok || len(edge.Wide) != 0 || len(edge.Notes) != 3 {
		t.Errorf("near the edge: %+v, %v", edge.Wide, edge.Notes)
	}
	if _, ok := scan.At(s, 521); ok {
		t.Error("521 nm was not measured")
	}
	most, good := 0.0, map[float64]bool{}
	for _, b := range scan.Bands {
		most = math.Max(most, b.Strength())
	}
	for _, b := range scan.Good() {
		good[b.Wavelength] = true
	}
	for _, b := range scan.Bands {
		if good[b.Wavelength] != (b.Strength() >= 0.9*most) {
			t.Errorf("%g nm: good %v, %.3g of %.3g", b.Wavelength, good[b.Wavelength], b.Strength(), most)
		}
	}
	if !good[scan.Best.Wavelength] || good[490] {
		t.Error("the best is not among the good, or all are")
	}
}
