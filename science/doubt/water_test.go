package doubt

import (
	"testing"

	"knownwater"
)

// Knowns in pure water are asked about, once a method and water, unless the method was tried in salt water too or
// water without salt is what the trial is of; water that nobody stated is asked about.
func TestWaterOfTheKnowns(t *testing.T) {
	of := func(method, matrix string) Readings {
		return Readings{Method: knownwater.Method{Name: method}, Matrix: matrix, Obs: make([]knownwater.Observation, 2)}
	}
	for _, x := range []struct {
		name     string
		all      []Readings
		stated   bool
		salinity float64
		want     []string // method, and the code
	}{
		{"salt water", []Readings{of("A", "salt water")}, true, 35, nil},
		{"pure", []Readings{of("A", "pure water")}, true, 35, []string{"A ask-pure-water"}},
		{"for pure water", []Readings{of("A", "pure water")}, true, 0, nil},
		{"not said for what", []Readings{of("A", "pure water")}, false, 0, []string{"A ask-pure-water", " ask-water"}},
		{"both", []Readings{of("A", "RODI"), of("A", "tank water")}, true, 35, nil},
		{"another method in salt water", []Readings{of("A", "RODI"), of("B", "tank water")}, true, 35, []string{"A ask-pure-water"}},
		{"of no name beside it", []Readings{of("A", "RODI"), of("A", "")}, true, 35, []string{"A ask-pure-water"}},
		{"two dilutions", []Readings{of("A", "RODI"), of("A", "RODI")}, true, 35, []string{"A ask-pure-water"}},
		{"two kinds of pure water", []Readings{of("A", "RODI"), of("A", "distilled")}, true, 35, []string{"A ask-pure-water", "A ask-pure-water"}},
		{"two methods", []Readings{of("A", "RODI"), of("B", "RODI")}, true, 35, []string{"A ask-pure-water", "B ask-pure-water"}},
		{"nobody stated", []Readings{of("A", "")}, false, 35, []string{" ask-water"}},
	} {
		trial := knownwater.Trial{WaterStated: x.stated}
		trial.Water.Salinity = x.salinity
		var got []string
		for _, q := range AskWater(trial, x.all) {
			got = append(got, q.Method+" "+q.Says.Code)
			if q.Kind != OfWater || q.Method != "" && len(q.At) != 2 || len(q.Mends) > 0 {
				t.Errorf("%s: %+v", x.name, q)
			}
		}
		if len(got) != len(x.want) {
			t.Errorf("%s: asked %q, want %q", x.name, got, x.want)
			continue
		}
		for i := range got {
			if got[i] != x.want[i] {
				t.Errorf("%s: asked %q, want %q", x.name, got, x.want)
			}
		}
	}
}

func TestPureWaterByItsName(t *testing.T) {
	for name, pure := range map[string]bool{"pure water": true, "Distilled": true, "deionised": true, "demineralised": true, "fresh": true, "reverse osmosis": true,
		"RO": true, "ro/di": true, "RODI": true, "DI water": true, "salt water": false, "sea": false, "tank": false, "distilled with sea salt": false,
		"diluted": false, "brown": false, "": false, "RO tank": false} {
		if got := pureWater(name); got != pure {
			t.Errorf("%q: %v", name, got)
		}
	}
}
