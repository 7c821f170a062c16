package intake

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"knownwater/report"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// hasNote says whether a note is told in such words.
func hasNote(notes []note.Note, part string) bool {
	return slices.ContainsFunc(report.WordsAll(notes), func(n string) bool { return strings.Contains(n, part) })
}

func TestUnits(t *testing.T) {
	const head = "method,level,u_level,reading,unit,basis\n"
	noUnits := strings.Replace(benchTOML, "unit = \"mg/L\"\nbasis = \"NO3\"\n", "", 1)
	for _, c := range []struct {
		name, readings, methods string
		level, uLevel           float64 // of the first observation
		text                    string
		scale                   unit.Scale
		note                    string
	}{
		{"the methods file's", head + "Meter,10,0.1,9.8,,\n", benchTOML, 10, 0.1, "9.8", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, ""},
		// 1 mg/L N = 62.004/14.007 mg/L NO3 by IUPAC 2021 abridged weights (N 14.007, O 15.999).
		{"as N", head + "Meter,10,0.1,9.8,mg/L,N\n", benchTOML, 44.2664382095, 0.442664382095, "9.8", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"},
			"levels given in mg/L N were turned into mg/L NO3 (factor 4.42664)"},
		{"only a basis", head + "Meter,10,0.1,9.8,,N\n", benchTOML, 44.2664382095, 0.442664382095, "9.8", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, "factor 4.42664"},
		{"µmol/L", head + "Meter,161.28,1.6128,9.8,µmol/L,\n", benchTOML, 10.00000512, 0.1000000512, "9.8", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, "factor 0.062004"},
		{"ppm", head + "Meter,10,0.1,9.8,ppm,\n", benchTOML, 10, 0.1, "9.8", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, "ppm is read as mg/L"},
		// ρ(35, 25 °C) = 1.02334 kg/L, EOS-80.
		{"mg/kg", head + "Meter,10,0.1,9.8,mg/kg,\n", benchTOML, 10.2334, 0.102334, "9.8", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, "factor 1.02334"},
		{"nothing anywhere", head + "Meter,10,0.1,9.8,,\n", "", 10, 0.1, "9.8", unit.Scale{Unit: "mg/L"}, "no unit is given anywhere: mg/L is taken"},
		{"rows alone", head + "Meter,10,0.1,9.8,umol/kg,NO3\n", "", 10, 0.1, "9.8", unit.Scale{Analyte: "nitrate", Unit: "umol/kg", Basis: "NO3"}, ""},
		{"rows alone, basis of three analytes", head + "Meter,10,0.1,9.8,mg/L,N\n", "", 10, 0.1, "9.8", unit.Scale{Unit: "mg/L", Basis: "N"}, ""},
		{"methods file without unit", head + "Meter,10,0.1,9.8,umol/L,\n", noUnits, 10, 0.1, "9.8", unit.Scale{Analyte: "nitrate", Unit: "umol/L", Basis: "NO3"}, "no basis is given: NO3 is taken"},
		{"basis behind the unit", head + "Meter,10,0.1,9.8,mg/L as N,\n", benchTOML, 44.2664382095, 0.442664382095, "9.8", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, "factor 4.42664"},
		{"alkalinity", head + "Meter,8,0.1,8.1,dKH,\n", "", 8, 0.1, "8.1", unit.Scale{Analyte: "alkalinity", Unit: "dKH"}, ""},
		// Without a methods file the row's unit holds for its reading too.
		{"mixed rows alone", head + "Meter,1,0.1,1,mg/L,N\nMeter,1,0.1,4.4,mg/L,NO3\nMeter,2,0.1,8.8,mg/L,NO3\n", "",
			1, 0.1, "4.4", unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, "factor 4.42664"},
		{"an analyte without known bases", head + "Meter,10,0.1,9.8,mg/L,\n", strings.Replace(noUnits, "nitrate", "bromide", 1),
			10, 0.1, "9.8", unit.Scale{Analyte: "bromide", Unit: "mg/L"}, "nothing can be converted"},
	} {
		trial := mustTrial(t, c.readings, c.methods)
		o := trial.Observations[0]
		if !nearly(o.Level, c.level, 3e-6) || !nearly(o.ULevel, c.uLevel, 3e-6) || o.Text != c.text {
			t.Errorf("%s: level %v ± %v, read %q, want %v ± %v, %q", c.name, o.Level, o.ULevel, o.Text, c.level, c.uLevel, c.text)
		}
		if trial.Scale != c.scale {
			t.Errorf("%s: scale %+v, want %+v", c.name, trial.Scale, c.scale)
		}
		if c.note != "" && !hasNote(trial.Notes, c.note) {
			t.Errorf("%s: no note says %q: %v", c.name, c.note, trial.Notes)
		}
	}
}

func nearly(a, b, relative float64) bool {
	d := a - b
	return d == 0 || (d < relative*b && -d < relative*b)
}

func TestMixedUnitsWithoutAnAnalyte(t *testing.T) {
	_, err := Trial(src("readings.csv", "method,level,reading,unit\nMeter,1,1,mg/L\nMeter,1,1,umol/L\n"), Source{}, Source{})
	want := "readings.csv:unit: units that cannot be compared without the analyte: a methods file that says the analyte"
	if err == nil || err.Error() != want {
		t.Errorf("got %v", err)
	}
	_, err = Trial(src("readings.csv", "method,level,reading,unit,basis\nMeter,1,1,mg/L,NO3\nMeter,1,1,mg/L,PO4\n"), Source{}, Source{})
	want = "readings.csv:unit: units and bases that no one analyte has: one analyte a file; the methods file says which"
	if err == nil || err.Error() != want {
		t.Errorf("got %v", err)
	}
	// Between mg/L and mg/kg only the water matters, whatever the analyte.
	trial := mustTrial(t, "method,level,reading,unit\nMeter,1,1.0,mg/L\nMeter,2,2.0,mg/L\nMeter,2,2.0,mg/kg\n", "")
	if o := trial.Observations[2]; !nearly(o.Level, 2*1.02334, 1e-5) || !nearly(o.Seen.Low, 1.95*1.02334, 1e-5) {
		t.Errorf("2 mg/kg became %+v", o)
	}
}

// anyRows draws rows of a table of readings with readable values.
func anyRows(t *rapid.T) [][]string {
	n := rapid.IntRange(1, 40).Draw(t, "rows")
	var rows [][]string
	pick := func(name string, from ...string) string { return rapid.SampledFrom(from).Draw(t, name) }
	for range n {
		m := pick("method", "Violet card", "Meter", "Titration")
		r := map[string][]string{
			"Violet card": {"0", "6", "6..15", ">30", "<6", "30", "0..30"},
			"Meter":       {"0", "4.73", "5.1", "30", "1..2", "<0.5", "-0.2"},
			"Titration":   {"7d", "8", "0", "3d..4d", "<0.5"},
		}[m]
		rows = append(rows, []string{m, pick("level", "0", "1.5", "5", "5.0", "12"), pick("reading", r...),
			pick("u", "", "0.25"), pick("dilution", "", "1", "8"), pick("reader", "", "Ines", "Tomo"), pick("vial", "", "V1", "=V2")})
	}
	return rows
}

func table(sep string, rows [][]string) string {
	var b strings.Builder
	b.WriteString(strings.Join([]string{"method", "level", "reading", "u_level", "dilution", "reader", "vial"}, sep) + "\n")
	for _, r := range rows {
		b.WriteString(strings.Join(r, sep) + "\n")
	}
	return b.String()
}

// Order of rows, separator, decimal mark and the unit of the levels change nothing.
func TestOrderAndUnitsChangeNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		rows := anyRows(rt)
		want := mustTrial(t, table(",", rows), benchTOML)

		shuffled := slices.Clone(rows)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		got := mustTrial(t, table(",", shuffled), benchTOML)
		if d := cmp.Diff(withoutRows(want.Observations), withoutRows(got.Observations)); d != "" {
			rt.Fatalf("order of rows matters:\n%s", d)
		}
		if d := cmp.Diff(want.Notes, got.Notes); d != "" {
			rt.Fatalf("order of rows changes the notes:\n%s", d)
		}
		if d := cmp.Diff(want.Methods, got.Methods); d != "" {
			rt.Fatalf("order of rows changes the methods:\n%s", d)
		}

		got = mustTrial(t, decimalComma(table(";", rows)), benchTOML)
		if d := cmp.Diff(want.Observations, got.Observations); d != "" {
			rt.Fatalf("the decimal mark matters:\n%s", d)
		}

		factor := map[string]float64{}
		for _, to := range []unit.Scale{{Analyte: "nitrate", Unit: "umol/kg"}, {Analyte: "nitrate", Unit: "mg/L", Basis: "N"}} {
			f, err := unit.Factor(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, to, unit.StandardSea)
			if err != nil {
				rt.Fatal(err)
			}
			factor[to.Unit+","+to.Basis] = f
		}
		var b strings.Builder
		b.WriteString("method,level,reading,u_level,dilution,reader,vial,unit,basis\n")
		for _, row := range rows {
			in := rapid.SampledFrom([]string{",", "mg/L,NO3", "umol/kg,", "mg/L,N"}).Draw(rt, "unit")
			row = slices.Clone(row)
			if f := factor[in]; f != 0 {
				row[1], row[3] = times(row[1], f), times(row[3], f)
			}
			b.WriteString(strings.Join(append(row, in), ",") + "\n")
		}
		got = mustTrial(t, b.String(), benchTOML)
		if d := cmp.Diff(want.Observations, got.Observations); d != "" {
			rt.Fatalf("the unit of the levels matters:\n%s", d)
		}
	})
}

func decimalComma(s string) string {
	s = strings.ReplaceAll(s, "..", "\x00")
	s = strings.ReplaceAll(s, ".", ",")
	return strings.ReplaceAll(s, "\x00", "..")
}

func times(cell string, f float64) string {
	if cell == "" {
		return ""
	}
	var v float64
	fmt.Sscan(cell, &v)
	return fmt.Sprintf("%.17g", v*f)
}
