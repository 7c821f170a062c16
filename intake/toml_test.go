package intake

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/unit"
)

const needText = `[[need]]
name = "keep a low-nutrient tank"
low = 0.5
high = 8
permitted = [ { at = 0.5, error = 0.5 }, { at = 8, error = 1.5 } ]
tests_a_month = 12
minutes_at_most = 10
money_a_year = 120
`

// The example of docs/formats.md.
func TestMethodsAndNeeds(t *testing.T) {
	got, err := Methods(src("methods.toml", `analyte = "nitrate"
unit = "mg/L"
basis = "NO3"

[[method]]
name = "Violet card"
kind = "chart"                 # chart | display | drops | absorbance | photo
swatches = [0, 1, 2.5, 5, 10]  # chart
at_share = 0.25                # chart
dilution_over = 5              # above this reading the procedure dilutes ...
dilution_factor = 8            # ... by this factor
pack_price = 18.5
pack_tests = 50
refill_price = 12.0
refill_tests = 50
minutes = 6                    # start to reading
hands_on_minutes = 3

[[method]]
name = "Meter"
kind = "display"
resolution = 0.01
range = [0, 30]
`))
	if err != nil {
		t.Fatal(err)
	}
	want := MethodsFile{Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea,
		Methods: []knownwater.Method{
			{Name: "Violet card", Kind: knownwater.Chart, Swatches: []float64{0, 1, 2.5, 5, 10}, AtShare: 0.25,
				DilutionOver: 5, DilutionFactor: 8, PackPrice: 18.5, PackTests: 50, RefillPrice: 12, RefillTests: 50, Minutes: 6, HandsOnMinutes: 3},
			{Name: "Meter", Kind: knownwater.Display, Resolution: 0.01, Range: &interval.Interval{Low: 0, High: 30}},
		}}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	var b bytes.Buffer
	if err := WriteMethods(&b, got); err != nil {
		t.Fatal(err)
	}
	again, err := Methods(Source{Name: "again.toml", Data: b.Bytes()})
	if d := cmp.Diff(got, again); err != nil || d != "" {
		t.Errorf("%v %s\n%s", err, d, b.String())
	}

	needs, err := Needs(src("need.toml", needText))
	wantNeeds := []knownwater.Need{{Name: "keep a low-nutrient tank", Low: 0.5, High: 8,
		Permitted: []knownwater.Permit{{At: 0.5, Error: 0.5}, {At: 8, Error: 1.5}}, TestsAMonth: 12, MinutesAtMost: 10, MoneyAYear: 120}}
	if d := cmp.Diff(wantNeeds, needs); err != nil || d != "" {
		t.Error(err, d)
	}
	b.Reset()
	if err := WriteNeeds(&b, needs); err != nil {
		t.Fatal(err)
	}
	if again, err := Needs(Source{Name: "again.toml", Data: b.Bytes()}); err != nil || cmp.Diff(needs, again) != "" {
		t.Errorf("%v %v\n%s", err, again, b.String())
	}
	seen, err := Needs(src("need.toml", strings.Replace(needText, "low = 0.5", "held = false\nlow = 0.5", 1)))
	if err != nil {
		t.Fatal(err)
	}
	b.Reset()
	if err := WriteNeeds(&b, seen); err != nil {
		t.Fatal(err)
	}
	if again, err := Needs(Source{Name: "again.toml", Data: b.Bytes()}); err != nil || !again[0].NotHeld || cmp.Diff(seen, again) != "" {
		t.Errorf("held = false: %v %v\n%s", err, again, b.String())
	}
	if !strings.Contains(b.String(), "permitted = [{at = 0.5, error = 0.5}, {at = 8.0, error = 1.5}]") {
		t.Errorf("the permitted errors are not on one line:\n%s", b.String())
	}
}

func TestTOMLFaults(t *testing.T) {
	method := func(lines string) string { return "unit = \"mg/L\"\n\n[[method]]\nname = \"A\"\n" + lines }
	for _, c := range []struct{ text, want string }{
		{"", "f.toml: an empty file: TOML as docs/formats.md shows it"},
		{"unit = \"mg/L\"\n", "f.toml:method: no method: a [[method]] for each method in the readings"},
		{method("kind = \"chart\"\nswatches = [0, 15, 6]\n"), "f.toml:6:swatches: 6 after 15: swatches, rising"},
		{method("kind = \"chart\"\nswatches = [1]\n"), "f.toml:6:swatches: 1 swatches: at least two swatches, rising"},
		{method("kind = \"chart\"\n"), "f.toml:3:swatches: 0 swatches: at least two swatches, rising"},
		{method("kind = \"chart\"\nswatches = [0, nan]\n"), "f.toml:6:swatches: NaN: concentrations from 0 up"},
		{method("kind = \"chart\"\nswatches = [0, 1]\nat_share = 0\n"), "f.toml:7:at_share: 0: a share above 0 and at most 0.5"},
		{method("kind = \"chart\"\nswatches = [0, 1]\nat_share = 0.6\n"), "f.toml:7:at_share: 0.6: a share above 0 and at most 0.5"},
		{method("kind = \"drops\"\ndrop_value = -1\n"), "f.toml:6:drop_value: -1: the concentration one drop stands for, above 0"},
		{method("kind = \"dial\"\n"), `f.toml:5:kind: "dial": chart, display, drops, absorbance or photo`},
		{method("kind = \"display\"\nresolution = 0\n"), "f.toml:6:resolution: 0: one step of the last digit, above 0"},
		{method("kind = \"display\"\nrange = [30, 0]\n"), "f.toml:6:range: [30, 0]: the lower end, then the upper end"},
		{method("kind = \"display\"\nrange = [30]\n"), "f.toml:6:range: 1 numbers: the lower end, then the upper end"},
		{method("kind = \"display\"\ndilution_factor = 0.5\n"), "f.toml:6:dilution_factor: 0.5: a factor above 1 (8 for 1 part sample and 7 parts pure water)"},
		{method("kind = \"display\"\n[[method]]\nname = \"A\"\nkind = \"display\"\n"), `f.toml:7:name: a second method "A": each name once`},
		{method("kind = \"display\"\ncolour = 1\nsmell = 2\n"), "f.toml:6:method.colour: an unknown key: a key of docs/formats.md; look for a slip of the pen\n" +
			"f.toml:7:method.smell: an unknown key: a key of docs/formats.md; look for a slip of the pen"},
		{"unit = \"cubits\"\nanalyte = \"nitrate\"\n" + method("kind = \"display\"\n")[14:],
			`f.toml:1:unit: unit "cubits" for nitrate: one of g/L, g/kg, mg/L, mg/kg, mmol/L, mmol/kg, mol/L, ug/L, ug/kg, umol/L, umol/kg is needed`},
		{"salinity = 90\n" + method("kind = \"display\"\n"), "f.toml:1:salinity: salinity 90: a practical salinity from 0 to 42 is needed (sea water: about 35)"},
		{"temperature_c = nan\n" + method("kind = \"display\"\n"), "f.toml:1:temperature_c: temperature NaN: °C from -2 to 40 is needed (a room: about 20 to 25)"},
		{method("kind = \"chart\"\nswatches = \"0, 1\"\n"), `f.toml:6:method.swatches: "0, 1": a list of numbers: swatches = [ 1, 2.5 ]`},
		{"salinity = \"35\"\n" + method("kind = \"display\"\n"), `f.toml:1:salinity: "35": a number: salinity = 2.5`},
		{method("kind = 3\n"), `f.toml:5:method.kind: 3: text in quotes: kind = "…"`},
		{"method = 3\n", "f.toml:1:method: 3: [[method]], and below it its keys, each on a line"},
		{"[method]\nname = \"A\"\nkind = \"display\"\n", "f.toml:1:method: [method]: [[method]], in double brackets: there may be several"},
		{method("kind = \"display\n"), "f.toml:5:16: basic strings cannot have new lines: TOML as docs/formats.md shows it"},
		{"\xff", "f.toml:1: byte 0xff is not UTF-8: a file saved as UTF-8"},
		{"a = \x00", "f.toml:1: a NUL byte: text: save the file as UTF-8"},
	} {
		_, err := Methods(src("f.toml", c.text))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s\n got %v\nwant %s", c.text, err, c.want)
		}
	}
	for _, c := range []struct{ text, want string }{
		{"[[need]]\nname = \"x\"\nlow = 1\nhigh = 1\npermitted = [{at = 1, error = 1}]\n", "f.toml:4:high: 1: a concentration above low, 1"},
		{"[[need]]\nname = \"x\"\nlow = -1\nhigh = 1\npermitted = [{at = 1, error = 1}]\n", "f.toml:3:low: -1: a concentration from 0 up"},
		{"[[need]]\nname = \"x\"\nhigh = 1\npermitted = [{at = 1, error = 0}]\n", "f.toml:4:permitted: error = 0: an error above 0"},
		{"[[need]]\nname = \"x\"\nhigh = 1\npermitted = [{at = 1, error = 1}, {at = 1, error = 2}]\n", "f.toml:4:permitted: at = 1 after at = 1: concentrations, rising"},
		{"[[need]]\npermitted = 2\n", "f.toml:2:need.permitted: 2: a list: permitted = [ { at = …, error = … }, … ]"},
		{"[[need]]\nrise = 1\n", "f.toml:2:need.rise: 1: a table: rise = { of = …, at = … }"},
		{"[[need]]\nhazards_accepted = \"acid\"\n", `f.toml:2:need.hazards_accepted: "acid": a list of texts: hazards_accepted = [ "…", … ]`},
		{"[[need]]\nreaders = 1.5\n", "f.toml:2:need.readers: 1.5: a whole number: readers = 2"},
		{"[[need]]\nheld = 1\n", "f.toml:2:need.held: 1: held = true or held = false"},
		{"[[need]]\nname = \"x\"\nhigh = 1\n", "f.toml:1:permitted: no permitted error: at least one, such as { at = 0.5, error = 0.5 }"},
		{"[[need]]\nname = \"x\"\nhigh = inf\npermitted = [{at = 1, error = 1}]\n", "f.toml:3:high: +Inf: a concentration above low, 0"},
		{needText + needText, `f.toml:10:name: a second need "keep a low-nutrient tank": each name once`},
		{"need = 1\n", ""},
		{"[[need]\n", ""},
	} {
		_, err := Needs(src("f.toml", c.text))
		if err == nil || c.want != "" && err.Error() != c.want {
			t.Errorf("%s\n got %v\nwant %s", c.text, err, c.want)
		}
		if c.want == "" && !strings.HasPrefix(err.Error(), "f.toml:1:") {
			t.Errorf("%s: %v has no row", c.text, err)
		}
	}
}
