package scan

import (
	"math"
	"slices"
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

// Of straight knowns in duplicate whose colour is weak the best wavelength was said to bend by 5 % and more in 39 of 100, and a sharper
// one not to be taken for its bend in 35, or in 26 for what a vial would be read as that absorbs nothing: scatter alone. It shows
// where there is as much: by 1 % of stray light under strong colour, and of what absorbs a fifth of the top.
func TestScatterIsNoBendAndNoInterference(t *testing.T) {
	const runs = 60
	for _, x := range []struct {
		top, fill, stray, disturbs float64
		bends, shows               [2]int // least and most that may be said
	}{
		{0.05, 0.01, 0, 0, [2]int{0, 3}, [2]int{0, 7}}, // 5 % and two standard errors more
		{1.5, 0.002, 0.01, 0.2, [2]int{50, runs}, [2]int{58, runs}},
	} {
		r := num.Source(17, uint64(10*x.top))
		bends, shows, bent, disturbed := 0, 0, 0, 0
		for range runs {
			s := Spectra{}
			for nm := 500.0; nm <= 580; nm += 5 {
				s.Wavelength = append(s.Wavelength, nm)
			}
			add := func(level, colour float64, interferent bool) {
				v := Vial{Level: level, Interferent: interferent, Name: "water"}
				zero, filled := 0.002*r.NormFloat64(), 1+x.fill*r.NormFloat64()
				for _, nm := range s.Wavelength {
					a := x.top * colour * filled * math.Exp(-math.Pow((nm-540)/40, 2)/2)
					v.Absorbance = append(v.Absorbance, zero-math.Log10((math.Pow(10, -a)+x.stray)/(1+x.stray))+0.001*r.NormFloat64())
				}
				s.Vials = append(s.Vials, v)
			}
			for _, c := range []float64{0, 0, 5, 5, 10, 10, 20, 20} {
				add(c, c/20, false)
			}
			add(0, x.disturbs, true)
			got, err := Choose(s)
			if err != nil {
				t.Fatal(err)
			}
			peak := got.Bands[slices.IndexFunc(got.Bands, func(b Band) bool { return b.Wavelength == 540 })]
			if peak.Bends() {
				bends++
			}
			if got.Best.Disturbs() {
				shows++
			}
			switch _, why := got.Sharper(); why {
			case BentThere:
				bent++
			case DisturbedThere:
				disturbed++
			}
		}
		for what, said := range map[string][3]int{"bends": {bends, x.bends[0], x.bends[1]}, "is disturbed": {shows, x.shows[0], x.shows[1]}} {
			if said[0] < said[1] || said[0] > said[2] {
				t.Errorf("top %g: %s of %d in %d, want %d to %d", x.top, what, runs, said[0], said[1], said[2])
			}
		}
		if x.disturbs == 0 && (bent > 3 || disturbed > 5) {
			t.Errorf("top %g: of %d %d not the sharpest for a bend, %d for what absorbs nothing", x.top, runs, bent, disturbed)
		}
	}
}
