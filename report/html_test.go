package report

import (
	"bytes"
	"os"
	"testing"
)

func fixtureInputs() Inputs {
	return Inputs{
		Readings: File{"readings.csv", []byte("method,level,reading\nAlder card,3.13,2..3.5\n")},
		Methods:  File{"methods.toml", []byte("analyte = \"nitrate\"\n")},
		Need:     File{"need.toml", []byte("[[need]]\nname = \"keep a low-nutrient tank\"\n")},
		Made:     "2 March 2026",
	}
}

func TestHTML(t *testing.T) {
	f, trial := fixture()
	var b bytes.Buffer
	if err := HTML(&b, f, trial, fixtureInputs()); err != nil {
		t.Fatal(err)
	}
	if path := os.Getenv("KNOWNWATER_PAGE"); path != "" { // to look at it
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
