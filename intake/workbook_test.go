package intake

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

func book(t testing.TB, rows ...[]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, r := range rows {
		cell, _ := excelize.CoordinatesToCellName(1, i+1)
		if err := f.SetSheetRow("Sheet1", cell, &r); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := f.NewSheet("Other"); err != nil {
		t.Fatal(err)
	}
	f.SetCellValue("Other", "A1", "not looked at")
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWorkbook(t *testing.T) {
	x := 0.1
	data := book(t,
		[]any{"Method", "level", "reading", "note"},
		[]any{"Meter", x + 0.2, 4.73, "shown"}, // stored as 0.30000000000000004
		[]any{},
		[]any{"Violet card", 10, "6..15"},
		[]any{"Meter", 12, x + 0.2},
	)
	for _, name := range []string{"trial.xlsx", "misnamed.csv"} {
		got, err := Trial(Source{Name: name, Data: data}, src("methods.toml", benchTOML), Source{})
		if err != nil {
			t.Fatal(err)
		}
		want := mustTrial(t, "method,level,reading,note\nMeter,0.3,4.73,\n,,,\nViolet card,10,6..15,\nMeter,12,0.3,\n", benchTOML)
		if d := cmp.Diff(want.Observations, got.Observations); d != "" {
			t.Error(d)
		}
		if d := cmp.Diff(want.Methods, got.Methods); d != "" {
			t.Error(d)
		}
	}
}

func TestWorkbookFaults(t *testing.T) {
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"rows", book(t, []any{"method", "level", "reading"}, []any{"Meter", -1, 1}, []any{}, []any{"Meter", 1, "7d"}),
			"t.xlsx:2:level: \"-1\": a concentration from 0 up\nt.xlsx:4:reading: \"7d\" counts drops: a number: Meter is a display method"},
		{"empty sheet", book(t), "t.xlsx: an empty file: a header row with method, level, reading, and a row for each line of data"},
		{"header only", book(t, []any{"method", "level", "reading"}), "t.xlsx:1: a header and no readings: a row for each reading"},
		{"wide row", book(t, []any{"method", "level", "reading"}, []any{"Meter", 1, 1, "", "x"}),
			"t.xlsx:2: 5 cells: 3, as the header has (a cell that contains the separator stands in quotes)"},
		{"no workbook", []byte("method,level,reading\nMeter,1,1\n"), "t.xlsx: no workbook, whatever the name says: " + wantWorkbook},
		{"old workbook", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\x00\x00"), "t.xlsx: a workbook in the binary format before .xlsx, or one with a password: " + wantWorkbook},
	} {
		_, err := Trial(Source{Name: "t.xlsx", Data: c.data}, src("methods.toml", benchTOML), Source{})
		if err == nil || err.Error() != c.want {
			t.Errorf("%s:\n got %v\nwant %s", c.name, err, c.want)
		}
	}
}

// A formula in a workbook counts by the value stored with it.
func TestWorkbookFormula(t *testing.T) {
	f := excelize.NewFile()
	defer f.Close()
	f.SetSheetRow("Sheet1", "A1", &[]any{"method", "level", "reading"})
	f.SetSheetRow("Sheet1", "A2", &[]any{"Meter", 2, 1.5})
	f.SetCellFormula("Sheet1", "B2", "1+1")
	var b bytes.Buffer
	f.Write(&b)
	trial, err := Trial(Source{Name: "t.xlsx", Data: b.Bytes()}, Source{}, Source{})
	if err != nil {
		if !strings.Contains(err.Error(), "level") {
			t.Fatal(err)
		}
		return // no value was stored: a fault that names the cell
	}
	if trial.Observations[0].Level != 2 {
		t.Errorf("level %v", trial.Observations[0].Level)
	}
}
