package intake

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/unit"
)

const benchTOML = `analyte = "nitrate"
unit = "mg/L"
basis = "NO3"

[[method]]
name = "Violet card"
kind = "chart"
swatches = [0, 6, 15, 30]

[[method]]
name = "Meter"
kind = "display"
range = [0, 30]

[[method]]
name = "Titration"
kind = "drops"
drop_value = 0.5
`

func src(name, text string) Source { return Source{Name: name, Data: []byte(text)} }

func mustTrial(t *testing.T, readings, methods string) knownwater.Trial {
	t.Helper()
	m := Source{}
	if methods != "" {
		m = src("methods.toml", methods)
	}
	trial, err := Trial(src("readings.csv", readings), m, Source{})
	if err != nil {
		t.Fatalf("%v\nfrom\n%s", err, readings)
	}
	return trial
}

func TestTrial(t *testing.T) {
	got := mustTrial(t, `method,level,reading,u_level,u_shared,dilution,reader,vial,replicate
Violet card,10,6..15,0.1,0.05,,Ines,V1,1
Violet card,10,6..15,0.1,0.05,,Ines,V1,2
Meter,10.0,4.73,0.1,0.05,8,,,
Meter,10.0,30,0.1,0.05,8,,,
Titration,10,7d,0.1,0.05,,,,
`, benchTOML)
	want := []knownwater.Observation{
		{Method: "Violet card", Level: 10, ULevel: 0.1, UShared: 0.05, Text: "6..15", Seen: interval.Interval{Low: 8.25, High: 12.75},
			Dilution: 1, Reader: "Ines", Vial: "V1", Count: 2, Row: 2, Also: []int{3}},
		{Method: "Meter", Level: 10, ULevel: 0.1, UShared: 0.05, Text: "4.73", Seen: interval.Interval{Low: 4.725, High: 4.735}, Dilution: 8, Count: 1, Row: 4},
		{Method: "Meter", Level: 10, ULevel: 0.1, UShared: 0.05, Text: "30", Seen: interval.Above(29.995), Dilution: 8, Count: 1, Row: 5},
		{Method: "Titration", Level: 10, ULevel: 0.1, UShared: 0.05, Text: "7d", Seen: interval.Interval{Low: 3, High: 3.5}, Dilution: 1, Count: 1, Row: 6},
	}
	if d := cmp.Diff(want, got.Observations); d != "" {
		t.Error(d)
	}
	if want := (unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}); got.Scale != want {
		t.Errorf("scale %+v", got.Scale)
	}
	if got.Methods[1].Resolution != 0.01 {
		t.Errorf("the meter's resolution is %v; the finest decimal seen is 0.01", got.Methods[1].Resolution)
	}
}

// The same table in every way that a spreadsheet may write it.
func TestWaysOfWriting(t *testing.T) {
	plain := "method,level,reading,note\nMeter,0.5,4.73,\"said \"\"hm\"\", twice\"\nMeter,1,5.2,\"two\nlines\"\nViolet card,10,6..15,\n"
	want := mustTrial(t, plain, benchTOML)
	comma := strings.NewReplacer("0.5", "0,5", "4.73", "4,73", "5.2", "5,2")
	semicolon := comma.Replace(strings.NewReplacer(",", ";").Replace(plain))
	// Replacing commas also hit the note, which is not read.
	for name, text := range map[string]string{
		"byte order mark":  "\xef\xbb\xbf" + plain,
		"CR LF":            strings.ReplaceAll(plain, "\n", "\r\n"),
		"CR":               strings.ReplaceAll(strings.ReplaceAll(plain, "\n", "\r"), "two\rlines", "two lines"),
		"tab":              strings.ReplaceAll(strings.ReplaceAll(plain, ", twice", " twice"), ",", "\t"),
		"semicolon, comma": comma.Replace(strings.ReplaceAll(plain, ",", ";")),
		"tab, comma":       comma.Replace(strings.ReplaceAll(strings.ReplaceAll(plain, ", twice", " twice"), ",", "\t")),
		"quoted, comma":    "method,level,reading\nMeter,\"0,5\",\"4,73\"\nMeter,1,\"5,2\"\nViolet card,10,6..15\n",
		"no last line end": strings.TrimSuffix(plain, "\n"),
		"blank lines":      strings.ReplaceAll(plain, "\nViolet", "\n\n,,,\n\nViolet"),
		"header in caps":   strings.Replace(plain, "method,level,reading", " Method ,LEVEL, Reading", 1),
		"spaces":           strings.ReplaceAll(plain, "Meter,", "  Meter , "),
		"UTF-16 LE":        utf16Text(plain, false),
		"UTF-16 BE":        utf16Text(plain, true),
		"semicolons":       strings.ReplaceAll(strings.ReplaceAll(plain, ", twice", " twice"), ",", ";"),
		"semicolon again":  semicolon,
	} {
		got, err := Trial(src("readings.csv", text), src("methods.toml", benchTOML), Source{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d := cmp.Diff(withoutRows(want.Observations), withoutRows(got.Observations)); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

func withoutRows(obs []knownwater.Observation) []knownwater.Observation {
	out := append([]knownwater.Observation(nil), obs...)
	for i := range out {
		out[i].Row, out[i].Also = 0, nil
	}
	return out
}

func utf16Text(s string, big bool) string {
	var b bytes.Buffer
	for _, u := range append([]uint16{0xfeff}, utf16.Encode([]rune(s))...) {
		if big {
			b.Write([]byte{byte(u >> 8), byte(u)})
		} else {
			b.Write([]byte{byte(u), byte(u >> 8)})
		}
	}
	return b.String()
}

// Every fault of a file, word for word.
func TestFaults(t *testing.T) {
	const head = "method,level,reading\n"
	wide := strings.Repeat("x,", 2_000_000)
	for _, c := range []struct {
		name, readings, methods string
		want                    string
	}{
		{"empty file", "", "",
			`readings.csv: an empty file: a header row with method, level, reading, and a row for each line of data`},
		{"only a mark", "\xef\xbb\xbf", "",
			`readings.csv: an empty file: a header row with method, level, reading, and a row for each line of data`},
		{"header only", head, "", `readings.csv:1: a header and no readings: a row for each reading`},
		{"header and blanks", head + "\n,,\n", "", `readings.csv:1: a header and no readings: a row for each reading`},
		{"bar as separator", "method|level|reading\nA|1|2\n", "",
			`readings.csv:1:method: no such column in the header "method|level|reading": a header row with method, level, reading, separated by comma, semicolon or tab
readings.csv:1:level: no such column in the header "method|level|reading": a header row with method, level, reading, separated by comma, semicolon or tab
readings.csv:1:reading: no such column in the header "method|level|reading": a header row with method, level, reading, separated by comma, semicolon or tab`},
		{"other separator below", head + "A;1;2\nA,1,2\n", "",
			`readings.csv:2: 1 cells: 3, as the header has (leave a cell empty rather than out)`},
		{"a column twice", "method,level,reading,Level\nA,1,2,3\n", "", `readings.csv:1:Level: the column stands twice: each column once`},
		{"too many cells", head + "A,1,4,73\n", "",
			`readings.csv:2: 4 cells: 3, as the header has (a cell that contains the separator stands in quotes)`},
		{"two million columns", "method,level,reading," + wide + "\n", "", `readings.csv:1: 2000004 columns: at most 1000`},
		{"two million cells", head + wide + "\nA,1,2\n", "",
			`readings.csv:2: 2000001 cells: 3, as the header has (a cell that contains the separator stands in quotes)`},
		{"open quote", head + "A,1,2\nA,1,\"2\nA,1,2\n", "", `readings.csv:3: a quote that is opened and never closed: a closing quote`},
		{"quote inside", head + "A,1,2\"3\nA,1,2\n", "",
			`readings.csv:2: a quote inside a cell: the whole cell in quotes, a quote inside it doubled: "say ""so"""`},
		{"text after a quote", head + "A,1,\"2\"3\nA,1,2\n", "",
			`readings.csv:2: text after a closing quote: a separator there; a quote inside a cell is doubled: "say ""so"""`},
		{"quoted newline in a reading, faults below keep their line", head + "Meter,1,\"2\n3\"\nMeter,x,2\n", benchTOML,
			"readings.csv:2:reading: \"2\\n3\" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d\n" +
				`readings.csv:4:level: "x" is not a number: a concentration from 0 up`},
		{"NUL", head + "A,1,2\nA,1,\x002\n", "", `readings.csv:3: a NUL byte: text: save the file as UTF-8`},
		{"damaged UTF-8", head + "Büchse,1,2\nB\xfcchse,1,2\nA,1,2\nB\xfcchse,1,2\n", "",
			"readings.csv:3: byte 0xfc is not UTF-8: a file saved as UTF-8\nreadings.csv:5: byte 0xfc is not UTF-8: a file saved as UTF-8"},
		{"levels", head + "A,NaN,2\nA,inf,2\nA,1e999,2\nA,-1,2\nA,,2\nA,ten,2\nA,0x10,2\nA,=1+1,2\n", "",
			`readings.csv:2:level: "NaN" is not a number: a concentration from 0 up
readings.csv:3:level: "inf" is not a number: a concentration from 0 up
readings.csv:4:level: "1e999" is too large a number: a concentration from 0 up
readings.csv:5:level: "-1": a concentration from 0 up
readings.csv:6:level: nothing: a concentration from 0 up
readings.csv:7:level: "ten" is not a number: a concentration from 0 up
readings.csv:8:level: "0x10" is not a number: a concentration from 0 up
readings.csv:9:level: "=1+1" is not a number: a concentration from 0 up`},
		{"readings", head + "Violet card,1,15..6\nViolet card,1,7\nMeter,1,NaN\nMeter,1,\nMeter,1,7d\nMeter,1,1e999\n", benchTOML,
			`readings.csv:2:reading: "15..6" runs backwards: the lower end first: 6..15
readings.csv:3:reading: "7" is no swatch of Violet card: its swatches are 0, 6, 15, 30
readings.csv:4:reading: "NaN" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d
readings.csv:6:reading: "7d" counts drops: a number: Meter is a display method
readings.csv:7:reading: "1e999" is too large a number: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{"the same bad row twice is two faults", head + "Meter,1,x\nMeter,1,1\nMeter,1,x\n", benchTOML,
			`readings.csv:2:reading: "x" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d
readings.csv:4:reading: "x" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
		{"several faults in a row", "method,level,reading,u_level,dilution\nMeter,-1,x,-0.1,0\n", benchTOML,
			`readings.csv:2:level: "-1": a concentration from 0 up
readings.csv:2:reading: "x" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d
readings.csv:2:u_level: "-0.1": a standard uncertainty from 0 up
readings.csv:2:dilution: "0": a factor above 0 (8 for 1 part sample and 7 parts pure water)`},
		{"u_shared above u_level", "method,level,reading,u_level,u_shared\nMeter,1,1,0.1,0.2\n", benchTOML,
			`readings.csv:2:u_shared: 0.2 is more than u_level, 0.1: the part of u_level that the levels share`},
		{"u_background", "method,level,reading,u_level,u_shared,u_background\nMeter,1,1,0.03,0.0083,0.029\nMeter,1,1,0.1,0.05,0.2\nMeter,1,1,0.1,0.08,0.08\nMeter,1,1,,,0.1\nMeter,1,1,0.1,,-0.1\nMeter,1,1,0.1,,half\n", benchTOML,
			`readings.csv:3:u_background: 0.2 is more than u_level, 0.1: the part of u_level that comes from the water's background
readings.csv:4:u_background: 0.08 and u_shared, 0.08, are together more than u_level, 0.1: 0.1131: two parts whose squares add up to no more than the square of u_level
readings.csv:5:u_background: 0.1 is more than u_level, 0: the part of u_level that comes from the water's background
readings.csv:6:u_background: "-0.1": a standard uncertainty from 0 up
readings.csv:7:u_background: "half" is not a number: a standard uncertainty from 0 up`},
		{"unknown method", head + "Metre,1,1\n,1,1\n", benchTOML,
			"readings.csv:2:method: \"Metre\" is not in the methods file: one of Violet card, Meter, Titration\n" +
				"readings.csv:3:method: nothing: the method's name"},
		{"no methods file", head + "Card,1,1\nCard,1,6..15\nCard,1,<0.5\nMeter,1,1\nCount,1,7d\n", "",
			`readings.csv:3:reading: "6..15" of method "Card" is no plain number: a methods file (--methods) that says what kind of method it is
readings.csv:6:reading: "7d" of method "Count" is no plain number: a methods file (--methods) that says what kind of method it is`},
		{"unknown unit", "method,level,reading,unit\nMeter,1,1,mg/L\nMeter,1,1,cubits\n", benchTOML,
			`readings.csv:3:unit: unit "cubits" for nitrate: one of g/L, g/kg, mg/L, mg/kg, mmol/L, mmol/kg, mol/L, ug/L, ug/kg, umol/L, umol/kg is needed`},
		{"unknown basis", "method,level,reading,basis\nMeter,1,1,NO3\nMeter,1,1,PO4\n", benchTOML,
			`readings.csv:3:basis: basis "PO4" for nitrate: NO3 or N is needed`},
		{"some units without a methods file", "method,level,reading,unit\nMeter,1,1,mg/L\nMeter,1,1,\n", "",
			`readings.csv:3:unit: no unit: the unit, as other rows have, or a methods file that says the unit`},
		{"both marks in a cell", head + "Meter,\"1.234,5\",1\n", "",
			`readings.csv:2:level: "1.234,5" has both a point and a comma: one decimal mark and no mark between thousands`},
		{"a comma among points", head + "Meter,1.5,1.5\nMeter,\"2,5\",1\nMeter,3.5,1\n", "",
			`readings.csv:3:level: "2,5" has a comma: a decimal point, as the file's other numbers have, and no mark between thousands`},
		{"a point among commas", "method;level;reading\nMeter;1,5;1,5\nMeter;2.5;1\nMeter;3,5;1\n", "",
			`readings.csv:3:level: "2.5" has a decimal point: a decimal comma, as the file's other numbers have`},
		{"as many commas as points", "method;level;reading\nMeter;1,5;1\nMeter;2.5;1\n", "",
			`readings.csv:2:level: "1,5" has a comma: a decimal point, as the file's other numbers have, and no mark between thousands`},
		{"thousands or comma, in an interval", "method;level;reading\nMeter;1;1,234..2,345\n", benchTOML,
			`readings.csv:2:reading: "1,234..2,345" could be thousands or a decimal comma: 1234..2345 or 1.234..2.345 (in the whole file)`},
		{"broken UTF-16", "\xff\xfem\x00e\x00\x00\xd8a\x00", "", `readings.csv: the file says it is UTF-16 and is not: a file saved as UTF-8`},
		{"UTF-16 without a mark", "m\x00e\x00t\x00", "", `readings.csv:1: a NUL byte: text: save the file as UTF-8`},
		{"thousands or comma", "method;level;reading\nMeter;1,234;1\n", "",
			`readings.csv:2:level: "1,234" could be thousands or a decimal comma: 1234 or 1.234 (in the whole file)`},
		{"not a workbook", "PK\x03\x04 and nothing", "",
			`readings.csv: a workbook that cannot be opened (zip: not a valid zip file): an .xlsx workbook as a spreadsheet saves it, without a password, or a .csv file`},
		{"long cell", head + strings.Repeat("A", 1001) + ",1,1\n", "", `readings.csv:2:method: 1001 bytes in a cell: at most 1000`},
		{"faults of the methods file and of the readings at once", head + "Meter,-1,1\n", strings.Replace(benchTOML, "drop_value = 0.5", "drop_value = 0", 1),
			"readings.csv:2:level: \"-1\": a concentration from 0 up\nmethods.toml:18:drop_value: 0: the concentration one drop stands for, above 0"},
	} {
		m := Source{}
		if c.methods != "" {
			m = src("methods.toml", c.methods)
		}
		_, err := Trial(src("readings.csv", c.readings), m, Source{})
		var fs knownwater.Faults
		if !errors.As(err, &fs) {
			t.Errorf("%s: %v is no list of faults", c.name, err)
			continue
		}
		if d := cmp.Diff(c.want, err.Error()); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
	}
}

func TestManyFaultsAreCounted(t *testing.T) {
	_, err := Trial(src("readings.csv", "method,level,reading\n"+strings.Repeat("Meter,-1,1\n", 60)), Source{}, Source{})
	if lines := strings.Split(err.Error(), "\n"); len(lines) != 51 || lines[50] != "and 10 more like these" {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
	_, err = Trial(src("readings.csv", "method,level,reading\n"+strings.Repeat("Meter,-1,1\n", 200_000)), Source{}, Source{})
	if n := len(err.(knownwater.Faults)); n > mostFaults+10 {
		t.Errorf("%d faults held in memory", n)
	}
}
