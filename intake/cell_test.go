package intake

import (
	"strings"
	"testing"
)

// What a cell of a reading becomes: the notation, its unit, nothing, or a fault.
func TestReadingCells(t *testing.T) {
	for typed, want := range map[string]string{
		"10": "10", "-3": "-3", "−3": "−3", "+2.5": "+2.5", "1e-3": "1e-3", "1E-3": "1E-3", "6..15": "6..15", "7d": "7d", "<0.5": "<0.5", "> 50": "> 50", ".5": ".5", "5.": "5.",
		"6-15": "6..15", "6–15": "6..15", "6—15": "6..15", "6…15": "6..15", "6 - 15": "6..15", "6 to 15": "6..15", "6 TO 15": "6..15", "between 6 and 15": "6..15", "Between 6 and 15": "6..15",
		"1-2": "1..2", "-3-5": "-3..5", "-5--3": "-5..-3", "0,5-1,5": "0,5..1,5", "1e-3-2e-3": "1e-3..2e-3", "6d-8d": "6d..8d", "6 to 8 drops": "6 to 8 drops",
		"≥50": ">50", ">=50": ">50", "=>50": ">50", "≤0.5": "<0.5", "<= 0.5": "<0.5", "at least 50": ">50", "below 0.5": "<0.5", "over 50": ">50", "up to 5": "<5",
		"7 drops": "7d", "1 drop": "1d",
		"5 mg/L": "5|mg/L", "2ppm": "2|ppm", "<0.5 mg/L": "<0.5|mg/L", "6-15 mg/L NO3": "6..15|mg/L NO3", "6 mg/L to 15 mg/L": "6..15|mg/L", "8.5 dKH": "8.5|dKH", "5 (ppm)": "5|ppm", "3 µmol/L": "3|µmol/L",
		"": "not read", "-": "not read", "–": "not read", "n/a": "not read", "N/A": "not read", "#N/A": "not read", " n.a. ": "not read",
		"2026-06-15": "fault", "2026-06-15 10:30:00": "fault", "15.06.2026": "fault", "6/15/2026": "fault", "15-Jun": "fault", "Jun-15": "fault", "10:30": "fault",
		"1 234": "fault", "1'234": "fault", "1\u00a0234": "fault", "n.d.": "fault",
		// These are no notation; the notation says so.
		"6 and 15": "6 and 15", "about 5": "about 5", "5+": "5+", "6 mg/L to 15 ppm": "6 mg/L to 15|ppm", "x": "x", "–3": "–3", "5 ± 0.2": "5 ± 0.2", "6-": "6-", "--5": "--5", "NaN": "NaN",
	} {
		c := readingCell(typed)
		got := c.text
		switch {
		case c.notRead:
			got = "not read"
		case c.odd != nil && c.odd.fault.Found != "":
			got = "fault"
		case c.unit != "":
			got += "|" + c.unit
		}
		if got != want {
			t.Errorf("%q is %q, want %q", typed, got, want)
		}
		if plainly := strings.HasPrefix(want, c.text) && c.text == strings.TrimSpace(strings.TrimSuffix(typed, c.unit)); !c.read().plain() == plainly && c.unit == "" && c.text != "" {
			t.Errorf("%q became %q with the note %v", typed, c.text, c.read())
		}
		if r := c.read(); !r.plain() && r.typed != typed {
			t.Errorf("%q: its note does not quote it: %v", typed, r)
		}
	}
}

func TestHeadings(t *testing.T) {
	for text, want := range map[string]string{
		"level": "level||", "Level (mg/L)": "level|mg/L|", "KNOWN [ppm]": "level|ppm|", "Standard:": "level||", "True": "level||", "u_level": "u_level||", "U Level": "u_level||",
		"read by": "reader||", "Batch": "lot||", "Meter": "||Meter", "Meter (mg/L as N)": "|mg/L as N|Meter", "Meter (old)": "||Meter (old)", "Test kit": "method||", "result, mg/L": "||result, mg/L", "": "||",
	} {
		h := readingsLayout.heading(text)
		got := h.column + "|" + h.unit + "|"
		if h.column == "" {
			got += h.name
		}
		if got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}

// Everything about a table that could be taken two ways is refused or asked about.
func TestTablesThatCouldBeTakenTwoWays(t *testing.T) {
	for _, c := range []struct{ table, methods, want string }{
		{"level,known,reading,method\n1,2,1,Meter\n", benchTOML, "unknown columns are kept in the file and not used: known"},
		{"known,standard,Meter\n1,2,1\n", benchTOML, `readings.csv:1:standard: this column and "known" could both be the level: one of them, named level`},
		{"level,Meter,\n1,2,3\n", benchTOML, "readings.csv:1:column 3: readings without a header: the method's name above each of its columns"},
		{"level,Meter,Average\n1,1.1,1.0\n", benchTOML, "not read: Average"},
		{"level,Meter 1,Meter 2\n1,1.1,1.0\n", "", "“Meter 1”, “Meter 2” are taken as methods of their own"},
		{"level,Meter 1,Meter 2\n1,1.1,1.0\n", benchTOML, `readings.csv:2:Meter 1: "Meter 1" is not in the methods file: one of Violet card, Meter, Titration; repeats of Meter stand in columns of that name`},
		{"level,Meter,Violet card\n,1.1,7\n", benchTOML, "readings.csv:2:level: nothing: a concentration from 0 up\nreadings.csv:2:Violet card: \"7\" is no swatch"},
		{"level (mg/L N),Meter (umol/L)\n1,70.0\n", "", "readings of Meter given in umol/L were turned into mg/L N (factor 0.014007)"},
		{"level,Meter (dKH)\n1,7.0\n", benchTOML, `readings.csv:2:Meter (dKH): unit "dKH" for nitrate: one of`},
		{"level,Titration\n5,3-4\n", benchTOML, `readings.csv:2:Titration: "3..4" could be drops or concentrations: 3d..4d for drops, or 3..4`},
		{"method,level,reading\nMeter,blank,0.1\n", benchTOML, "“blank” is read as a level of 0"},
		{"method,level,reading\nMeter,5,n/a\n", benchTOML, "readings.csv:1:reading: nothing was read in any row"},
		{"method,level,reading\nMeter,5 mg/L,4.8\nMeter,10,9.7\n", "", "levels without a unit are taken in mg/L, as the others are"},
		{"method,level,reading\nMeter,5 mg/L,4.8\nMeter,10 umol/L,9.7\nMeter,3,3.3\n", "", "readings.csv:4:unit: no unit"},
		{"method;level;reading\nMeter;0,5;0,4\nMeter;1.5;1,4\n", benchTOML, `readings.csv:3:level: "1.5" has a decimal point: a decimal comma, as the file's other numbers have`},
		{"method,level,reading\nMeter,5,\"1,234\"\n", benchTOML, `"1,234" could be thousands or a decimal comma: 1234 or 1.234 (in the whole file)`},
	} {
		methods := Source{}
		if c.methods != "" {
			methods = src("methods.toml", c.methods)
		}
		got, err := Trial(src("readings.csv", c.table), methods, Source{})
		if err != nil && !strings.Contains(err.Error(), c.want) || err == nil && !hasNote(got.Notes, c.want) {
			t.Errorf("%q:\n got %v, %v\nwant %s", c.table, err, got.Notes, c.want)
		}
	}
}
