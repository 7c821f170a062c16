package intake

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"knownwater/report"

	"knownwater"
)

func kept(t testing.TB, name string) Source {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "kept", name))
	if err != nil {
		t.Fatal(err)
	}
	return Source{Name: name, Data: data}
}

// The tables of testdata/kept are read or refused as their README says.
func TestTablesAsPeopleKeepThem(t *testing.T) {
	for _, c := range []struct {
		file    string
		o       Options
		bare    bool // without the methods file
		n       int  // readings; 0: refused
		notes   []string
		faults  string
		seen    map[string]string // text → interval
		methods string
	}{
		{file: "01-wide-by-reader.csv", n: 26, methods: "Heron card, Meter, Drop kit",
			notes: []string{"“Known” as level", "“Who” as reader", "“6–15” is read as 6..15 (1 row, from row 5 on)", "“between 6 and 15” is read as 6..15",
				"“0-6” is read as 0..6", "“30 to 50” is read as 30..50", "“≥50” is read as >50", "“7 drops” is read as 7d", "a column a method: Heron card, Meter, Drop kit"},
			seen: map[string]string{"6..15": "{8.25 12.75}", ">50": "{55 +Inf}", "7d": "{12 14}"}},
		{file: "02-semicolons-1252.csv", n: 5, methods: "Heron card, Meter",
			notes: []string{"read as Windows-1252", "“sep=”, “Nitrate, Jörg & Ute, 20 °C”", "decimal commas", "levels given in µmol/L NO3 were turned into mg/L NO3 (factor 0.062004)", "“Test” as method"},
			seen:  map[string]string{"4.9": "{4.85 4.95}"}},
		{file: "03-club-day.xlsx", n: 11, methods: "Heron card, Meter",
			notes: []string{"above the header in row 4", "merged cells hold for every row", "not read: Average", "1 row without a reading: taken as not read (row 10)"}},
		{file: "04-dates.xlsx", faults: `04-dates.xlsx:2:reading: "2026-06-15" is a date: ` + wantNoDate + `
04-dates.xlsx:4:reading: "2026-05-15" is a date: ` + wantNoDate + `
04-dates.xlsx:5:level: "2026-05-01" is a date: ` + wantNoDate},
		{file: "05-units-in-cells.csv", n: 5, notes: []string{"“6-15 mg/L” is read as 6..15", "“<= 15” is read as <15", "3 rows without a reading: taken as not read (rows 4, 5, 8)", "ppm is read as mg/L"},
			seen: map[string]string{"-0.3": "{-0.35 -0.25}", "<15": "{-Inf 12.75}"}},
		{file: "06-two-analytes.csv", n: 2, methods: "Meter", notes: []string{"2 rows of phosphate left out, since nitrate is judged here"}},
		{file: "06-two-analytes.csv", bare: true, faults: "06-two-analytes.csv:1:analyte: readings of nitrate, phosphate: one analyte at a time: --analyte nitrate, or a file for each"},
		{file: "06-two-analytes.csv", bare: true, o: Options{Analyte: "phosphate"}, n: 2, methods: "Blue meter"},
		{file: "06-two-analytes.csv", bare: true, o: Options{Analyte: "silicate"}, faults: "06-two-analytes.csv:1:analyte: no reading of silicate: readings of it: the column has nitrate, phosphate"},
		{file: "07-level-and-reading.csv", faults: "07-level-and-reading.csv:1:method: no such column, so that nobody knows which method read this: a column method, or the method's name with --method"},
		{file: "07-level-and-reading.csv", o: Options{Method: "Meter"}, n: 4, methods: "Meter", notes: []string{"“Standard” as level"}},
		{file: "08-second-sheet.xlsx", faults: `08-second-sheet.xlsx:1:method: no such column in the header "Spring trial": a header row with method, level, reading, separated by comma, semicolon or tab; another sheet is chosen with --sheet`},
		{file: "08-second-sheet.xlsx", o: Options{Sheet: "readings"}, n: 4, methods: "Heron card, Meter, Drop kit"},
		{file: "08-second-sheet.xlsx", o: Options{Sheet: "Sheet3"}, faults: `08-second-sheet.xlsx: no sheet is called "Sheet3": one of About, Readings`},
		{file: "09-capitals.csv", bare: true, n: 4, methods: "Meter, METER, meter", notes: []string{
			"is it one method or several? “Meter” (2 rows, from row 2 on) and “METER” (1 row, from row 4 on) and “meter” (1 row, from row 5 on) differ in capitals or spaces only and are kept apart",
			"is it one reader or several? “Ana” (3 rows, from row 2 on) and “ana” (1 row, from row 3 on)"}},
		{file: "09-capitals.csv", faults: `09-capitals.csv:4:method: "METER" is not in the methods file: one of Heron card, Meter, Drop kit; is it Meter, written otherwise?`},
		{file: "10-thousands-and-dates.csv", faults: `10-thousands-and-dates.csv:2:reading: "1 234" has a mark between thousands, or is two numbers: 1234, or one reading a cell
10-thousands-and-dates.csv:3:reading: "1'000" has a mark between thousands, or is two numbers: 1000, or one reading a cell
10-thousands-and-dates.csv:4:reading: "15.06.2026" is a date: ` + wantNoDate + `
10-thousands-and-dates.csv:5:reading: "6-Jun" is a date: ` + wantNoDate + `
10-thousands-and-dates.csv:7:level: "1 000" has a mark between thousands, or is two numbers: 1000, or one number a cell
10-thousands-and-dates.csv:8:reading: "6..7" could be drops or concentrations: 6d..7d for drops, or 6..7
10-thousands-and-dates.csv:9:reading: "n.d." does not say below what: <0.5 for below 0.5, or the lowest swatch
10-thousands-and-dates.csv:10:reading: "ca. 5" is no reading: a reading such as 10, 6..15, <0.5, >50 or 7d`},
	} {
		methods := kept(t, "methods.toml")
		if c.bare {
			methods = Source{}
		}
		got, err := c.o.Trial(kept(t, c.file), methods, Source{})
		if err != nil || c.n == 0 {
			if err == nil || c.faults == "" || !strings.HasPrefix(err.Error(), c.faults) {
				t.Errorf("%s %+v:\n got %v\nwant %s", c.file, c.o, err, c.faults)
			}
			continue
		}
		n, names := 0, []string{}
		for _, o := range got.Observations {
			n += o.Count
			if want, asked := c.seen[o.Text]; asked && seenAs(o) != want {
				t.Errorf("%s: %q is %s, want %s", c.file, o.Text, seenAs(o), want)
			}
			delete(c.seen, o.Text)
		}
		for _, m := range got.Methods {
			names = append(names, m.Name)
		}
		if n != c.n || len(c.seen) > 0 || c.methods != "" && strings.Join(names, ", ") != c.methods {
			t.Errorf("%s: %d readings by %s, want %d by %s; not seen: %v", c.file, n, strings.Join(names, ", "), c.n, c.methods, c.seen)
		}
		for _, note := range c.notes {
			if !hasNote(got.Notes, note) {
				t.Errorf("%s: no note says %q:\n%s", c.file, note, strings.Join(report.SayAll(got.Notes), "\n"))
			}
		}
	}
}

func seenAs(o knownwater.Observation) string { return fmt.Sprint(o.Seen) }
