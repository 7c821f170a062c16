package intake

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"knownwater"
)

// checkFaults says whether an error is a list of faults that say what would be right.
func checkFaults(t *testing.T, err error) {
	t.Helper()
	var fs knownwater.Faults
	if !errors.As(err, &fs) || len(fs) == 0 {
		t.Fatalf("%v is no list of faults", err)
	}
	for _, f := range fs {
		if f.File == "" || f.Found == "" || f.Want == "" {
			t.Fatalf("the fault %+v says too little", f)
		}
	}
}

func FuzzReadings(f *testing.F) {
	for _, s := range []string{
		"", "method,level,reading\n", "method,level,reading\nMeter,1,2\n", "method;level;reading\nMeter;1,5;2,25\n",
		"\xef\xbb\xbfmethod\tlevel\treading\nViolet card\t1\t6..15\n", "\xff\xfem\x00e\x00", "method,level,reading\n\"Meter\",1,\"2\n\"\n",
		"method,level,reading,unit,basis,dilution,u_level,u_shared\nMeter,1,2,ppm,N,8,0.1,0.05\nTitration,1,7d,umol/kg,,,,\n",
		"method,level,reading\n'=x,1,2\n", "PK\x03\x04", "method,level,reading\nMeter,1e999,NaN\n", "method|level\n\x00",
		"sep=;\nA title\nknown (mg/L);Meter;Violet card\n5;4,8;6-15\nblank;n/a;>=30\n", "level,reading\n5 ppm,between 1 and 2 mg/L\n", "method,level,reading\nB\xfc,1,2\n",
		"method,level,read,0000000000,,\nMeter,0,0um ,,,", // found by drawing: the last digit of another unit
		"analyte,test,standard,result\nNO3,Meter,1,1.0\nPO4,Meter,1,1.0\n",
	} {
		f.Add([]byte(s), true)
		f.Add([]byte(s), false)
	}
	f.Fuzz(func(t *testing.T, data []byte, withMethods bool) {
		methods := Source{}
		if withMethods {
			methods = src("methods.toml", benchTOML)
		}
		trial, err := Trial(Source{Name: "readings.csv", Data: data}, methods, Source{})
		if err != nil {
			checkFaults(t, err)
			return
		}
		for _, o := range trial.Observations {
			if !o.Seen.Valid() || !(o.Dilution > 0) || !(o.Level >= 0) || o.Count < 1 || o.Row < 2 || o.UShared > o.ULevel*1.0001 {
				t.Fatalf("%+v", o)
			}
		}
		var b bytes.Buffer
		if err := WriteReadings(&b, trial); err != nil {
			t.Fatal(err)
		}
		var m bytes.Buffer
		if err := WriteMethods(&m, MethodsFile{Scale: trial.Scale, Water: trial.Water, Methods: trial.Methods}); err != nil {
			t.Fatal(err)
		}
		again, err := Trial(Source{Name: "again.csv", Data: b.Bytes()}, Source{Name: "again.toml", Data: m.Bytes()}, Source{})
		if err != nil {
			t.Fatalf("%v\nfrom\n%s", err, b.String())
		}
		if d := cmp.Diff(withoutRows(trial.Observations), withoutRows(again.Observations)); d != "" {
			t.Fatalf("%s\nfrom\n%s\n%s", d, b.String(), m.String())
		}
	})
}

func FuzzMethods(f *testing.F) {
	f.Add([]byte(benchTOML))
	f.Add([]byte(cardTOML))
	f.Add([]byte("[[method]]\nname='x'\nkind='chart'\nswatches=[nan,1]\nat_share=-1\n"))
	f.Add([]byte("method.name = 1\n[method]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := Methods(Source{Name: "methods.toml", Data: data})
		if err != nil {
			checkFaults(t, err)
			return
		}
		var b bytes.Buffer
		if err := WriteMethods(&b, got); err != nil {
			t.Fatal(err)
		}
		again, err := Methods(Source{Name: "again.toml", Data: b.Bytes()})
		if err != nil {
			t.Fatalf("%v\nfrom\n%s", err, b.String())
		}
		if d := cmp.Diff(got, again); d != "" {
			t.Fatalf("%s\nfrom\n%s", d, b.String())
		}
	})
}

func FuzzNeeds(f *testing.F) {
	f.Add([]byte(needText))
	f.Add([]byte("[[need]]\nlow = nan\npermitted = [{at = inf, error = -1}]\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := Needs(Source{Name: "need.toml", Data: data})
		if err != nil {
			checkFaults(t, err)
			return
		}
		var b bytes.Buffer
		if err := WriteNeeds(&b, got); err != nil {
			t.Fatal(err)
		}
		again, err := Needs(Source{Name: "again.toml", Data: b.Bytes()})
		if err != nil || cmp.Diff(got, again) != "" {
			t.Fatalf("%v %s\nfrom\n%s", err, cmp.Diff(got, again), b.String())
		}
	})
}

func FuzzPoints(f *testing.F) {
	f.Add([]byte("level,signal,role\n0,0.003,fit\n5,0.4,check\n"))
	f.Add([]byte("level;signal;dilution\n0;0,003;8\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := Points(Source{Name: "points.csv", Data: data})
		if err != nil {
			checkFaults(t, err)
			return
		}
		for _, p := range got.Points {
			if !(p.Level >= 0) || !(p.Dilution > 0) || !(p.ULevel >= 0) || !finite(p.Signal) {
				t.Fatalf("%+v", p)
			}
		}
	})
}

func FuzzWorkbook(f *testing.F) {
	f.Add(book(f, []any{"method", "level", "reading"}, []any{"Meter", 1, "6..15"}))
	f.Fuzz(func(t *testing.T, data []byte) {
		if !bytes.HasPrefix(data, []byte("PK\x03\x04")) {
			return
		}
		if _, err := Trial(Source{Name: "t.xlsx", Data: data}, Source{}, Source{}); err != nil {
			checkFaults(t, err)
		}
	})
}

// The parts of a workbook are what a spreadsheet wrote, or anything else.
func FuzzSheet(f *testing.F) {
	f.Add(bookHeader+`<row r="2"><c r="A2" t="s" s="1"><v>0</v></c><c r="B2" s="1"><v>46188</v></c><c r="C2" t="str"><f>1+1</f><v>2</v></c></row></sheetData><mergeCell ref="A2:A3"/>`,
		`<sst><si><t>Meter</t><rPh><t>x</t></rPh></si></sst>`, `<styleSheet><numFmts><numFmt numFmtId="170" formatCode="d\-mmm"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="170"/></cellXfs></styleSheet>`)
	f.Add(`<x:worksheet><!-- a > b --><x:row><x:c r="ZZZZ9"/><x:c t="inlineStr"><x:is><x:t><![CDATA[a<b]]>&#x41;&amp;&nope;</x:t></x:is></x:c></x:row>`, "<sst/>", "")
	f.Add("<row><c><v>1", "<si>", "<")
	f.Fuzz(func(t *testing.T, sheet, shared, styles string) {
		data := packed(t, map[string]func(*strings.Builder){
			"xl/worksheets/sheet1.xml": func(w *strings.Builder) { w.WriteString(sheet) },
			"xl/sharedStrings.xml":     func(w *strings.Builder) { w.WriteString(shared) },
			"xl/styles.xml":            func(w *strings.Builder) { w.WriteString(styles) },
		})
		if _, err := Trial(Source{Name: "t.xlsx", Data: data}, Source{}, Source{}); err != nil {
			checkFaults(t, err)
		}
	})
}

// A cell of a reading becomes notation, nothing or a fault, and is then left as it is.
func FuzzReadingCell(f *testing.F) {
	for _, s := range []string{"6-15", "between 6 and 15", "≥50", "5 mg/L NO3", "n/a", "1 234", "15-Jun", "7 drops", "6 mg/L to 15 mg/L", "–3", "1e-3-2e-3", "\u00a05"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c := readingCell(text)
		if c.bad() || c.notRead {
			return
		}
		if c.read().plain() || !plain(c.text) {
			return
		}
		if again := readingCell(c.text); again.text != c.text || !again.read().plain() || again.unit != "" {
			t.Fatalf("%q became %q, which becomes %+v", text, c.text, again)
		}
	})
}
