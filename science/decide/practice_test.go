package decide_test

import (
	"testing"

	"knownwater/science/decide"
	"knownwater/science/note"
)

func codes(list []note.Note) (s string) {
	for _, n := range list {
		s += n.Code + " "
	}
	return s
}

// Hours at the limit and beyond it, filtered or not, and words of a water's notes.
func TestPractice(t *testing.T) {
	for _, c := range []struct {
		analyte  string
		hours    float64
		filtered string
		want     string
	}{
		{"nitrate", 6, "no", ""}, {"nitrate", 6.1, "no", "sample-stood-warm "}, {"nitrate", 48.1, "yes", "sample-stood-too-long "},
		{"phosphate", 1, "", ""}, {"phosphate", 1.1, "", "sample-stood-unfiltered "}, {"phosphate", 5, "yes", ""}, {"phosphate", 7, "yes", "sample-stood-warm "},
		{"Ammonia", 2, "", "sample-stood-warm "}, {"strontium", 1000, "", ""}, {"nitrate", 0, "", ""},
	} {
		if got := codes(decide.Stood(c.analyte, c.hours, c.filtered)); got != c.want {
			t.Errorf("%s after %g h, filtered %q: %q, want %q", c.analyte, c.hours, c.filtered, got, c.want)
		}
	}
	for _, c := range []struct{ analyte, notes, want string }{
		{"nitrate", "New tank, Nitrite still there", "nitrite-reads-as-nitrate "}, {"phosphate", "nitrite", ""}, {"phosphate", "brown diatoms; a bit yellow", "own-colour-adds silicate-reads-as-phosphate "},
		{"alkalinity", "Nothing ever changes here.", ""}, {"ammonia", "treated with thiosulphate and copper", "binders-hide medicine-disturbs "},
	} {
		if got := codes(decide.Disturbed(c.analyte, c.notes)); got != c.want {
			t.Errorf("%s, %q: %q, want %q", c.analyte, c.notes, got, c.want)
		}
	}
}
