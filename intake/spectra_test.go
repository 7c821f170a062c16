package intake

import (
	"errors"
	"math"
	"testing"

	"knownwater"
)

func TestSpectra(t *testing.T) {
	f, err := Spectra(Source{Name: "s.csv", Data: []byte("Wavelength;blank;0;2,5;2,5;yellow\n560;0,01;0,012;0,3;0,31;0,05\n540;0,01;0,011;0,4;;0,02\n")})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Wavelength) != 2 || f.Wavelength[0] != 540 || len(f.Vials) != 5 {
		t.Fatalf("%+v", f)
	}
	if v := f.Vials[2]; !v.Known || v.Level != 2.5 || v.Absorbance[0] != 0.4 || v.Absorbance[1] != 0.3 {
		t.Errorf("%+v", v)
	}
	if !math.IsNaN(f.Vials[3].Absorbance[0]) {
		t.Error("an empty cell is a number")
	}
	if f.Vials[4].Known || f.Vials[4].Name != "yellow" || !f.Vials[0].Known {
		t.Error("who is a known?")
	}
}

func TestSpectraFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":                             "s.csv: an empty file: a header row with wavelength, and a row for each line of data",
		"wavelength\n540\n":            "s.csv:1: no vial beside the wavelength: " + wantVials,
		"wavelength,0,2\n":             "s.csv:1: a header and no rows: a row for each wavelength",
		"wavelength,0,-2\n540,1,2\n":   "s.csv:1:-2: no level: " + wantVials,
		"wavelength,0,2\n540,1,x\n":    `s.csv:2:2: "x" is not a number: ` + wantAbsorbance,
		"wavelength,2,2\n540,1,x\n":    `s.csv:2:2 (column 3): "x" is not a number: ` + wantAbsorbance,
		"wavelength,0\n540,1\n540,2\n": "s.csv:3:wavelength: 540 nm stands in row 2 already: each wavelength once",
		"wavelength,0\n-540,1\n":       `s.csv:2:wavelength: "-540": ` + wantWavelength,
		"nanometres,0\n540,1\n540,2\n": `s.csv:1:wavelength: no such column in the header "nanometres,0": a header row with wavelength, separated by comma, semicolon or tab`,
	} {
		_, err := Spectra(Source{Name: "s.csv", Data: []byte(text)})
		var faults knownwater.Faults
		if !errors.As(err, &faults) || faults[0].Error() != want {
			t.Errorf("%q:\n got %v\nwant %s", text, err, want)
		}
	}
}

func FuzzSpectra(f *testing.F) {
	f.Add([]byte("wavelength,0,2\n540,0.1,0.2\n"))
	f.Add([]byte("wavelength;blank;2,5;yellow\n540;0,1;;0,2\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Spectra(Source{Name: "s.csv", Data: data})
		if err != nil {
			return
		}
		for i := 1; i < len(s.Wavelength); i++ {
			if s.Wavelength[i] <= s.Wavelength[i-1] {
				t.Error("wavelengths do not rise")
			}
		}
		for _, v := range s.Vials {
			if len(v.Absorbance) != len(s.Wavelength) {
				t.Error("a vial is not as long as the wavelengths")
			}
		}
	})
}
