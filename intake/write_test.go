package intake

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"knownwater"
)

// What is written is read back as it was, formula-like texts and all.
func TestReadingsRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		want := mustTrial(t, table(",", anyRows(rt)), benchTOML)
		var b bytes.Buffer
		if err := WriteReadings(&b, want); err != nil {
			rt.Fatal(err)
		}
		got := mustTrial(t, b.String(), benchTOML)
		if d := cmp.Diff(withoutRows(want.Observations), withoutRows(got.Observations)); d != "" {
			rt.Fatalf("%s\nfrom\n%s", d, b.String())
		}
		if want.Scale != got.Scale {
			rt.Fatalf("scale %+v became %+v", want.Scale, got.Scale)
		}
	})
}

func TestNothingIsWrittenAsAFormula(t *testing.T) {
	trial := mustTrial(t, "method,level,reading,reader,lot,session,vial,technique,matrix\n"+
		"=cmd|' /C calc'!A0,1,-0.5,+1,-1,@SUM(1),'=quoted,\"=a,\"\"b\"\"\",plain\n", "")
	var b bytes.Buffer
	if err := WriteReadings(&b, trial); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, cell := range rows[1] {
		if rows[0][i] != "reading" && strings.IndexAny(cell, "=+-@\t\r") == 0 {
			t.Errorf("column %s is written as %q", rows[0][i], cell)
		}
	}
	if rows[1][2] != "-0.5" {
		t.Errorf("a reading below 0 is written as %q", rows[1][2])
	}
	for in, want := range map[string]string{"": "", "plain": "plain", "=1": "'=1", "'=1": "''=1", "-1": "'-1", "@a": "'@a", "\ta": "'\ta", "\ra": "'\ra", "'a": "'a", "a=1": "a=1"} {
		if got := knownwater.SafeCell(in); got != want {
			t.Errorf("SafeCell(%q) = %q, want %q", in, got, want)
		}
		if back := string(unmark([]byte(knownwater.SafeCell(in)))); back != in {
			t.Errorf("%q is written %q and read %q", in, knownwater.SafeCell(in), back)
		}
	}
}
