package assess_test

import (
	"fmt"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// A display that shows 0 beside more at one known is asked whether it can show less, unless it
// did, or its range says so.
func TestDisplaysThatNeverShowLessThanNothing(t *testing.T) {
	for _, x := range []struct {
		name     string
		readings []float64 // at 0; at 5 it shows 4.9, 5.1 and 5.0
		ranged   bool
		doubted  bool
	}{
		{"zeros beside more", []float64{0, 0.2, 0}, false, true},
		{"all zero", []float64{0, 0, 0}, false, false},
		{"never zero", []float64{0.1, 0.2, 0.1}, false, false},
		{"less than nothing", []float64{0, 0.2, -0.1}, false, false},
		{"its range is known", []float64{0, 0.2, 0}, true, false},
	} {
		m := knownwater.Method{Name: "M", Kind: knownwater.Display, Resolution: 0.1}
		if x.ranged {
			m.Range = &interval.Interval{Low: 0, High: 60}
		}
		trial := knownwater.Trial{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea, Methods: []knownwater.Method{m}}
		for level, readings := range map[float64][]float64{0: x.readings, 5: {4.9, 5.1, 5}} {
			for _, v := range readings {
				trial.Observations = append(trial.Observations, knownwater.Observation{Method: "M", Level: level, Text: fmt.Sprint(v), Seen: interval.Interval{Low: v - 0.05, High: v + 0.05}, Dilution: 1, Count: 1})
			}
		}
		notes := assess.Run(trial, assess.Options{}).Methods[0].Notes
		if got := slices.ContainsFunc(notes, func(n note.Note) bool { return n.Code == "never-below-zero" }); got != x.doubted {
			t.Errorf("%s: doubted %v, want %v", x.name, got, x.doubted)
		}
	}
}

// A display that shows one number at its highest knowns, and scatters below, is asked whether it ends there.
func TestDisplaysThatNeverShowMore(t *testing.T) {
	for _, x := range []struct {
		name       string
		at20, at40 []any
		at50       []any
		methods    string
		doubted    bool
	}{
		{"at two knowns", []any{"19.1", "20.4"}, []any{"30.0", "30.0"}, []any{"30.0"}, "", true},
		{"at one, three times", []any{"19.1", "20.4"}, nil, []any{"30.0", "30.0", "30.0"}, "", true},
		{"at one, twice", []any{"19.1", "20.4"}, nil, []any{"30.0", "30.0"}, "", false},
		{"it repeats itself", []any{"20.0", "20.0"}, nil, []any{"30.0", "30.0", "30.0"}, "", false},
		{"once more", []any{"19.1", "20.4"}, []any{"30.0", "30.0"}, []any{"30.1"}, "", false},
		{"its range is known", []any{"19.1", "20.4"}, []any{"30.0", "30.0"}, []any{"30.0"}, "range = [0, 30]\n", false},
	} {
		rows := [][]any{{"M", 2, "1.9"}, {"M", 2, "2.2"}}
		for level, all := range map[int][]any{20: x.at20, 40: x.at40, 50: x.at50} {
			for _, v := range all {
				rows = append(rows, []any{"M", level, v})
			}
		}
		m := assessed(t, table("method,level,reading", rows...), nitrate+"[[method]]\nname = \"M\"\nkind = \"display\"\nresolution = 0.1\n"+x.methods, "").Methods[0]
		if got := slices.ContainsFunc(m.Notes, func(n note.Note) bool { return n.Code == "never-above" }); got != x.doubted {
			t.Errorf("%s: doubted %v, want %v", x.name, got, x.doubted)
		}
	}
}
