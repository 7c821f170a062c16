package intake

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
)

func TestNotes(t *testing.T) {
	trial := mustTrial(t, "method,level,reading,u_level,lamp,moon\nTitration,1,7,0.1,x,y\nTitration,1,8d,,x,y\n", benchTOML)
	for _, want := range []string{
		"readings.csv: unknown columns are kept in the file and not used: lamp, moon",
		"u_level is not given in 1 of 2 rows",
		`method “Titration”: whole numbers without a d are taken as counts of drops`,
		`method “Violet card” has no readings`,
		`method “Meter” has no readings`,
	} {
		if !hasNote(trial.Notes, want) {
			t.Errorf("no note says %q: %v", want, trial.Notes)
		}
	}
	if len(trial.Methods) != 1 {
		t.Errorf("methods without readings are kept: %v", trial.Methods)
	}
	trial = mustTrial(t, "method;level;reading\nB;1;1,5\nA;1;1,25\nA;1;2\n", "")
	for _, want := range []string{
		`method “A” is not described in a methods file: taken as a display with steps of 0.01`,
		`method “B” is not described in a methods file: taken as a display with steps of 0.1`,
		"no u_level is given: the knowns are taken as exact", "decimal commas", "mg/L is taken",
	} {
		if !hasNote(trial.Notes, want) {
			t.Errorf("no note says %q: %v", want, trial.Notes)
		}
	}
	if trial.Methods[0].Name != "B" {
		t.Error("without a methods file, methods stand in the order of first appearance")
	}
}

func rowsOf(n int, vial func(i int) string) string {
	var b strings.Builder
	b.WriteString("method,level,reading,vial\n")
	for i := range n {
		fmt.Fprintf(&b, "Meter,%d,%d,%s\n", i%7, i%5, vial(i))
	}
	return b.String()
}

// Vials are told apart as long as that can say anything and memory allows.
func TestVials(t *testing.T) {
	once := func(i int) string { return fmt.Sprint("V", i) }
	for _, c := range []struct {
		name         string
		n            int
		vial         func(int) string
		observations int
		note         string
	}{
		{"few rows, each its vial", 7000, once, 7000, ""},
		{"one below many", manyRows - 1, once, manyRows - 1, ""},
		{"many rows, each its vial", manyRows, once, 35, "vials that were read only once"},
		{"many rows, vials read again", manyRows + 1, func(i int) string { return fmt.Sprint("V", i%700) }, 700, ""},
		{"too many vials", 2*mostVials + 2, func(i int) string { return fmt.Sprint("V", i/2) }, 35, "vials are not told apart"},
	} {
		trial := mustTrial(t, rowsOf(c.n, c.vial), benchTOML)
		if len(trial.Observations) != c.observations {
			t.Errorf("%s: %d observations, want %d", c.name, len(trial.Observations), c.observations)
		}
		sum := 0
		for _, o := range trial.Observations {
			sum += o.Count
		}
		if sum != c.n {
			t.Errorf("%s: %d readings counted of %d", c.name, sum, c.n)
		}
		if c.note != "" && !hasNote(trial.Notes, c.note) || c.note == "" && hasNote(trial.Notes, "told apart") {
			t.Errorf("%s: notes %v", c.name, trial.Notes)
		}
	}
}

// TestWaterStated: only a file that gives salinity and temperature both says
// what water the knowns were made in, and writing it keeps that.
func TestWaterStated(t *testing.T) {
	for _, c := range []struct {
		head string
		want bool
	}{
		{"", false}, {"salinity = 35\n", false}, {"temperature_c = 25\n", false}, {"salinity = 30\n", false}, {"temperature_c = 20\n", false},
		{"salinity = 35\ntemperature_c = 25\n", true}, {"salinity = 0\ntemperature_c = 20\n", true},
	} {
		src := Source{Name: "methods.toml", Data: []byte("analyte = \"nitrate\"\nunit = \"mg/L\"\n" + c.head + "[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.1\n")}
		got, err := Methods(src)
		if err != nil || got.WaterStated != c.want {
			t.Errorf("%q: stated %v, %v", c.head, got.WaterStated, err)
		}
		var b bytes.Buffer
		if err := WriteMethods(&b, got); err != nil {
			t.Fatal(err)
		}
		again, err := Methods(Source{Name: "methods.toml", Data: b.Bytes()})
		if err != nil || again.Water != got.Water || again.WaterStated != c.want {
			t.Errorf("%q: written and read again %v %v, %v\n%s", c.head, again.Water, again.WaterStated, err, b.String())
		}
	}
	trial := mustTrial(t, "method,level,reading\nMeter,1,1.1\n", "analyte = \"nitrate\"\nunit = \"mg/L\"\nsalinity = 33\ntemperature_c = 20\n[[method]]\nname = \"Meter\"\nkind = \"display\"\n")
	if !trial.WaterStated || trial.Water.Salinity != 33 {
		t.Errorf("the trial: %+v stated %v", trial.Water, trial.WaterStated)
	}
}
