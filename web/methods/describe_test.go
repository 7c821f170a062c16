package methods

import (
	"net/url"
	"reflect"
	"testing"

	"knownwater"
	"knownwater/web/form"
)

func TestParseStep(t *testing.T) {
	for line, want := range map[string]knownwater.Step{
		"shake, 60 s, hands on":          {Name: "shake", Seconds: 60, HandsOn: true},
		"stand, 5 min":                   {Name: "stand", Seconds: 300},
		"stand, 1,5 min":                 {}, // a comma parts: refused
		"read, within 2 min":             {Name: "read", Within: 120},
		" read ,WITHIN 90s":              {Name: "read", Within: 90},
		"stand, 2:30":                    {Name: "stand", Seconds: 150},
		"digest, 1.5 h":                  {Name: "digest", Seconds: 5400},
		"read":                           {Name: "read"},
		"":                               {},
		", 5 min":                        {},
		"stand, five minutes":            {Name: "stand", Seconds: 300},
		"stand five minutes":             {Name: "stand", Seconds: 300},
		"Shake for 60 s, hands on":       {Name: "Shake", Seconds: 60, HandsOn: true},
		"stand 5min":                     {Name: "stand", Seconds: 300},
		"stand a while":                  {Name: "stand a while"},
		"stand, a while":                 {},
		"stand, 99999999999 min":         {},
		"stand, -5 min":                  {},
		"stand, within":                  {},
		"stand, 5 min, hands off, 3 min": {},
	} {
		got, err := parseStep(line)
		if refused := reflect.DeepEqual(want, knownwater.Step{}); refused != (err != nil) {
			t.Errorf("%q: %v, %v", line, got, err)
		} else if !refused && got != want {
			t.Errorf("%q: %+v, want %+v", line, got, want)
		}
	}
}

// FuzzSteps: whatever is typed, nothing panics, and what was understood is
// understood alike when it comes back in its form.
func FuzzSteps(f *testing.F) {
	for _, s := range []string{"shake, 60 s, hands on\nstand, 5 min\nread, within 2 min", "a,0.0001 s", "a, 0:00", "\n\n,", "x, within 1e9 h"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		steps := readSteps(&form.Form{Values: url.Values{"steps": {text}}})
		for _, s := range steps {
			again, err := parseStep(stepWords(s))
			if err != nil || again != s {
				t.Fatalf("%+v comes back as %+v (%v) from %q", s, again, err, stepWords(s))
			}
		}
	})
}

// FuzzLines: swatches and permitted errors of any text.
func FuzzLines(f *testing.F) {
	for _, s := range []string{"0 #f3ead0\n2.5", "at 0.5 ± 0.5", "1e999", "NaN", "0x1p-2", "2 #12", "at 1: 2: 3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		fm := &form.Form{Values: url.Values{"swatches": {text}, "permitted": {text}}}
		for _, s := range readSwatches(fm) {
			if s.Colour != "" && !colour.MatchString(s.Colour) {
				t.Fatalf("colour %q", s.Colour)
			}
			if s.Value-s.Value != 0 {
				t.Fatalf("a swatch at %g", s.Value)
			}
		}
		for _, p := range readPermitted(fm) {
			if p.At-p.At != 0 || p.Error-p.Error != 0 {
				t.Fatalf("permitted %+v", p)
			}
		}
	})
}

// TestSpecRoundTrip puts descriptions into their form and reads them back.
func TestSpecRoundTrip(t *testing.T) {
	low, high := 0.0, 30.0
	for _, want := range []knownwater.MethodSpec{
		{Name: "Violet card", Kind: knownwater.Chart, AtShare: 0.3, Swatches: []knownwater.Swatch{{Value: 0, Colour: "#f3ead0"}, {Value: 2.5}},
			Steps: []knownwater.Step{{Name: "shake", Seconds: 45, HandsOn: true}, {Name: "stand", Seconds: 300}, {Name: "read", Within: 90}}, Minutes: 6, HandsOnMinutes: 1.5, PackPrice: 18.5, PackTests: 50,
			Dilution: knownwater.Dilution{Over: 5, Factor: 8, SampleML: 1, USampleML: 0.02, SampleDevice: "1 mL syringe", WaterML: 7, UWaterML: 0.1, WaterDevice: "cylinder"}, Note: "a note", Caution: "acid"},
		{Name: "Pocket display", Kind: knownwater.Display, Resolution: 0.01, RangeLow: &low, RangeHigh: &high},
		{Name: "Drop count", Kind: knownwater.Drops, DropValue: 2},
	} {
		want.Scale.Analyte, want.Scale.Unit, want.Scale.Basis = "nitrate", "mg/L", "NO3"
		f := specForm(want)
		got := readSpec(f)
		if f.Bad() || !reflect.DeepEqual(got, want) {
			t.Errorf("%s comes back as\n%+v, want\n%+v (%v)", want.Name, got, want, f.Faults())
		}
	}
}
