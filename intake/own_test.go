package intake

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Each method shows its numbers in a unit of its own: µmol/L on a card, N on a
// display, drops that stand for ppm. 62.004 g/mol NO3 and 14.007 g/mol N (IUPAC
// 2021, abridged) give the factors by hand.
const ownTOML = `analyte = "nitrate"
unit = "mg/L"
basis = "NO3"

[[method]]
name = "Card"
kind = "chart"
unit = "umol/L"
swatches = [0, 100, 200, 400]
dilution_over = 200
dilution_factor = 8

[[method]]
name = "Meter"
kind = "display"
basis = "N"
range = [0, 10]

[[method]]
name = "Titration"
kind = "drops"
unit = "ppm"
drop_value = 0.5

[[method]]
name = "Cell"
kind = "absorbance"
unit = "umol/L"
`

const ownReadings = "method,level,reading,u_level\nCard,10,100..200,0.1\nCard,10,>400,0.1\nMeter,10,2.26,0.1\nTitration,10,7d,0.1\nCell,10,0.412,0.1\n"

func TestAMethodsOwnUnit(t *testing.T) {
	got := mustTrial(t, ownReadings, ownTOML)
	mgN, mgUmol := 62.004/14.007, 0.062004
	want := []knownwater.Observation{
		{Method: "Card", Text: "100..200", Seen: interval.Interval{Low: 125 * mgUmol, High: 175 * mgUmol}},
		{Method: "Card", Text: ">400", Seen: interval.Above(450 * mgUmol)},
		{Method: "Meter", Text: "2.26", Seen: interval.Interval{Low: 2.255 * mgN, High: 2.265 * mgN}},
		{Method: "Titration", Text: "7d", Seen: interval.Interval{Low: 3, High: 3.5}},
		{Method: "Cell", Text: "0.412", Seen: interval.Interval{Low: 0.4115, High: 0.4125}},
	}
	near := cmpopts.EquateApprox(1e-12, 0)
	if d := cmp.Diff(want, got.Observations, near, cmpopts.IgnoreFields(knownwater.Observation{}, "Level", "ULevel", "Dilution", "Count", "Row")); d != "" {
		t.Error(d)
	}
	for _, o := range got.Observations { // and whoever understands a text again sees the same
		for _, m := range got.Methods {
			if m.Name != o.Method {
				continue
			}
			if again, err := reading.Understand(o.Text, m); err != nil || again != o.Seen {
				t.Errorf("%s: %q is %v, understood again %v, %v", m.Name, o.Text, o.Seen, again, err)
			}
		}
	}
	card := got.Methods[0]
	if !nearly(card.Swatches[3], 400*mgUmol, 1e-12) || !nearly(card.DilutionOver, 200*mgUmol, 1e-12) || card.Own != (unit.Scale{Analyte: "nitrate", Unit: "umol/L", Basis: "NO3"}) {
		t.Errorf("the card stands on the trial's scale as %+v", card)
	}
	if v, err := reading.Midpoint("100..200", card); err != nil || !nearly(v, 150*mgUmol, 1e-12) {
		t.Errorf("its midpoint is %v, %v", v, err)
	}
	if tile := reading.Tiles(card)[2]; tile.Text != "100" || !nearly(tile.Seen.High, 125*mgUmol, 1e-12) {
		t.Errorf("its third tile is %+v", tile)
	}
	for _, note := range []string{`method “Card” shows µmol/L: its readings were turned into mg/L NO3 (factor 0.062004)`,
		`method “Meter” shows mg/L N: its readings were turned into mg/L NO3 (factor 4.42664)`, "ppm is read as mg/L", `method “Cell” reads a signal`} {
		if !hasNote(got.Notes, note) {
			t.Errorf("no note says %q: %v", note, got.Notes)
		}
	}
}

func TestOwnUnitsAreWrittenAndReadBack(t *testing.T) {
	want := mustTrial(t, ownReadings, ownTOML)
	var methods, readings bytes.Buffer
	if err := WriteMethods(&methods, MethodsFile{Scale: want.Scale, Water: want.Water, Methods: want.Methods}); err != nil {
		t.Fatal(err)
	}
	if err := WriteReadings(&readings, want); err != nil {
		t.Fatal(err)
	}
	got := mustTrial(t, readings.String(), methods.String())
	if d := cmp.Diff(want.Methods, got.Methods); d != "" {
		t.Errorf("from\n%s\n%s", methods.String(), d)
	}
	if d := cmp.Diff(withoutRows(want.Observations), withoutRows(got.Observations)); d != "" {
		t.Error(d)
	}
}

func TestOwnUnitsThatMeanNothing(t *testing.T) {
	for in, want := range map[string]string{
		"unit = \"dKH\"\n":                   `methods.toml:8:unit: unit "dKH" for nitrate`,
		"basis = \"PO4\"\n":                  `methods.toml:8:basis: basis "PO4" for nitrate: NO3 or N is needed`,
		"unit = \"mg/L N\"\nbasis = \"NO3\"": `methods.toml:8:unit: unit "mg/L N" says N but the basis says NO3`,
	} {
		toml := "analyte = \"nitrate\"\nunit = \"mg/L\"\n\n[[method]]\nname = \"Meter\"\nkind = \"display\"\n\n" + in
		_, err := Trial(src("readings.csv", "method,level,reading\nMeter,1,1.0\n"), src("methods.toml", toml), Source{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", in, err)
		}
	}
	// Of an analyte without known factors nothing is converted.
	toml := "analyte = \"bromide\"\nunit = \"mg/L\"\n\n[[method]]\nname = \"Meter\"\nkind = \"display\"\nunit = \"umol/L\"\n"
	_, err := Trial(src("readings.csv", "method,level,reading\nMeter,1,1.0\n"), src("methods.toml", toml), Source{})
	if err == nil || !strings.Contains(err.Error(), `methods.toml:unit: method "Meter": umol/L beside mg/L`) {
		t.Errorf("%v", err)
	}
}

// Levels that nobody gives a unit stand in the one unit that all methods show.
func TestTheMethodsUnitIsTheLevels(t *testing.T) {
	got := mustTrial(t, "method,level,reading\nMeter,1,1.0\n", "[[method]]\nname = \"Meter\"\nkind = \"display\"\nunit = \"umol/L\"\n")
	if got.Scale.Unit != "umol/L" || got.Observations[0].Seen != (interval.Interval{Low: 0.95, High: 1.05}) || !hasNote(got.Notes, "no unit is given for the levels: umol/L is taken") {
		t.Errorf("%+v", got)
	}
}
