package intake

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"knownwater/internal/processor"
	"knownwater/science/note"
)

func manyMethods(n int) string {
	var b strings.Builder
	b.WriteString("analyte = \"nitrate\"\nunit = \"mg/L\"\n")
	for i := range n {
		fmt.Fprintf(&b, "\n[[method]]\nname = \"Meter %d\"\nkind = \"display\"\nresolution = 0.1\nunit = \"umol/L\"\npack_price = 12.5\n", i)
	}
	return b.String()
}

// packed is a workbook of the parts given, written as small as they get.
func packed(t testing.TB, parts map[string]func(w *strings.Builder)) []byte {
	t.Helper()
	all := map[string]func(*strings.Builder){
		"xl/workbook.xml": func(w *strings.Builder) {
			w.WriteString(`<workbook xmlns:r="r"><sheets><sheet name="A" sheetId="1" r:id="rId1"/></sheets></workbook>`)
		},
		"xl/_rels/workbook.xml.rels": func(w *strings.Builder) {
			w.WriteString(`<Relationships><Relationship Id="rId1" Target="worksheets/sheet1.xml"/></Relationships>`)
		},
	}
	for name, f := range parts {
		all[name] = f
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, f := range all {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		var s strings.Builder
		f(&s)
		w.Write([]byte(s.String()))
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const bookHeader = `<worksheet><sheetData><row><c t="inlineStr"><is><t>method</t></is></c><c t="inlineStr"><is><t>level</t></is></c><c t="inlineStr"><is><t>reading</t></is></c></row>`

// bookRows is a sheet of n rows.
func bookRows(n int, row func(i int) string) func(*strings.Builder) {
	return func(w *strings.Builder) {
		w.WriteString(bookHeader)
		for i := range n {
			w.WriteString(row(i))
		}
		w.WriteString("</sheetData></worksheet>")
	}
}

// bounded are inputs of a size that are as dear as they get.
var bounded = []struct {
	name string
	n    int // for the larger of two sizes
	src  func(t testing.TB, n int) (readings, methods Source)
}{
	{"methods", 8000, func(_ testing.TB, n int) (Source, Source) {
		return src("r.csv", "method,level,reading\nMeter 1,1,1.0\n"), src("m.toml", manyMethods(n))
	}},
	{"unknown keys", 8000, func(_ testing.TB, n int) (Source, Source) {
		return src("r.csv", "method,level,reading\nMeter 1,1,1.0\n"), src("m.toml", strings.ReplaceAll(manyMethods(n), "pack_price", "pack_prize"))
	}},
	{"rows that differ", 300_000, func(_ testing.TB, n int) (Source, Source) {
		var b strings.Builder
		b.WriteString("method,level,reading,reader,session\n")
		for i := range n {
			fmt.Fprintf(&b, "M,%d,%d,Reader %d,Session %d\n", i%8, i/8%5000, i/40000%8, i%3)
		}
		return src("r.csv", b.String()), Source{}
	}},
	{"texts that differ", 99_000, func(_ testing.TB, n int) (Source, Source) {
		var b strings.Builder
		b.WriteString("method,level,reading\n")
		for i := range n {
			fmt.Fprintf(&b, "M,5,%d\n", i)
		}
		return src("r.csv", b.String()), Source{}
	}},
	{"too many rows that differ", 1_000_000, func(_ testing.TB, n int) (Source, Source) {
		var b strings.Builder
		b.WriteString("method,level,reading\n")
		for i := range n {
			fmt.Fprintf(&b, "M,5,%d\n", i)
		}
		return src("r.csv", b.String()), Source{}
	}},
	{"methods by rows", 40_000, func(_ testing.TB, n int) (Source, Source) {
		var b strings.Builder
		b.WriteString("method,level,reading\n")
		for i := range n {
			fmt.Fprintf(&b, "M%d,5,1.0\n", i)
		}
		return src("r.csv", b.String()), Source{}
	}},
	{"faulty rows", 400_000, func(_ testing.TB, n int) (Source, Source) {
		return src("r.csv", "method,level,reading\n"+strings.Repeat("M,-1,x\n", n)), src("m.toml", benchTOML)
	}},
	{"quotes", 400_000, func(_ testing.TB, n int) (Source, Source) {
		return src("r.csv", "method,level,reading\n"+strings.Repeat("\"M\",\"5\",\"1\"\n", n)), Source{}
	}},
	{"an open quote", 400_000, func(_ testing.TB, n int) (Source, Source) {
		return src("r.csv", "method,level,reading\nM,5,\"1\n"+strings.Repeat("M,5,1\n", n)), Source{}
	}},
	{"a long line", 4_000_000, func(_ testing.TB, n int) (Source, Source) {
		return src("r.csv", "method,level,reading\nM,5,1"+strings.Repeat(",", n)+"\nM,5,1\n"), Source{}
	}},
	{"cells that need understanding", 100_000, func(_ testing.TB, n int) (Source, Source) {
		var b strings.Builder
		b.WriteString("level,M\n")
		for i := range n {
			fmt.Fprintf(&b, "5 mg/L,between %d and %d mg/L\n", i, i+1)
		}
		return src("r.csv", b.String()), Source{}
	}},
	{"Windows-1252", 400_000, func(_ testing.TB, n int) (Source, Source) {
		return src("r.csv", "method,level,reading,note\n"+strings.Repeat("M,5,1,caf\xe9\n", n)), Source{}
	}},
	{"a workbook of equal rows", 400_000, func(t testing.TB, n int) (Source, Source) {
		return Source{Name: "t.xlsx", Data: packed(t, map[string]func(*strings.Builder){"xl/worksheets/sheet1.xml": bookRows(n, func(int) string {
			return `<row><c t="inlineStr"><is><t>M</t></is></c><c><v>5</v></c><c><v>4.8</v></c></row>`
		})})}, Source{}
	}},
	{"a workbook of empty cells", 1_000_000, func(t testing.TB, n int) (Source, Source) {
		return Source{Name: "t.xlsx", Data: packed(t, map[string]func(*strings.Builder){"xl/worksheets/sheet1.xml": bookRows(1, func(int) string {
			return "<row>" + strings.Repeat("<c/>", n) + "</row>"
		})})}, Source{}
	}},
	{"a workbook of merged cells", 200_000, func(t testing.TB, n int) (Source, Source) {
		return Source{Name: "t.xlsx", Data: packed(t, map[string]func(*strings.Builder){"xl/worksheets/sheet1.xml": func(w *strings.Builder) {
			bookRows(n, func(int) string {
				return `<row><c t="inlineStr"><is><t>M</t></is></c><c><v>5</v></c><c><v>4.8</v></c></row>`
			})(w)
			w.WriteString(strings.Repeat(`<mergeCell ref="B2:B200000"/>`, 20_000))
		}})}, Source{}
	}},
	{"a workbook of shared texts", 4_000_000, func(t testing.TB, n int) (Source, Source) {
		return Source{Name: "t.xlsx", Data: packed(t, map[string]func(*strings.Builder){
			"xl/sharedStrings.xml": func(w *strings.Builder) {
				w.WriteString("<sst>" + strings.Repeat("<si><t>abcdefgh</t></si>", n) + "</sst>")
			},
			"xl/worksheets/sheet1.xml": bookRows(0, nil)})}, Source{}
	}},
	{"a workbook of one long text", 60_000_000, func(t testing.TB, n int) (Source, Source) {
		return Source{Name: "t.xlsx", Data: packed(t, map[string]func(*strings.Builder){"xl/worksheets/sheet1.xml": bookRows(1, func(int) string {
			return `<row><c t="inlineStr"><is><t>` + strings.Repeat("x", n) + `</t></is></c></row>`
		})})}, Source{}
	}},
}

// Four times the input costs about four times the work, and what is held keeps
// within three times the file and 100 MB.
func TestBounds(t *testing.T) {
	for _, c := range bounded {
		n := c.n
		if os.Getenv("KNOWNWATER_BOUNDS") == "" { // whole, it takes two minutes: make simulate
			n /= 20
		}
		var took [2]time.Duration
		for k, size := range []int{n / 4, n} {
			r, m := c.src(t, size)
			limit := uint64(100<<20 + 3*(len(r.Data)+len(m.Data)))
			took[k] = time.Hour
			for range 2 {
				var spent time.Duration
				peak := processor.Peak(limit, func() {
					began := processor.Time()
					Trial(r, m, Source{})
					spent = processor.Time() - began
				})
				took[k] = min(took[k], spent)
				if peak > limit {
					t.Errorf("%s: %d of them held %d MB more, want at most %d", c.name, size, peak>>20, limit>>20)
				}
			}
		}
		// Twice over allows for caches that no longer hold it and for the collector.
		if took[1] > 8*took[0]+20*time.Millisecond {
			t.Errorf("%s: %d took %v, %d took %v", c.name, n/4, took[0], n, took[1])
		}
		if took[1] > 3*time.Second {
			t.Errorf("%s: %d took %v of a processor", c.name, n, took[1])
		}
	}
}

// A person who gives up is heard, whatever is being read.
func TestStop(t *testing.T) {
	rows := strings.Repeat("M,5,1\n", 100_000)
	var differ strings.Builder
	for i := range 100_000 {
		fmt.Fprintf(&differ, "M,5,%d\n", i)
	}
	book := packed(t, map[string]func(*strings.Builder){"xl/worksheets/sheet1.xml": bookRows(100_000, func(int) string {
		return `<row><c t="inlineStr"><is><t>M</t></is></c><c><v>5</v></c><c><v>4.8</v></c></row>`
	})})
	long := "method,level,reading\n" + rows
	for name, s := range map[string]Source{
		"rows": src("r.csv", long), "rows that differ": src("r.csv", "method,level,reading\n"+differ.String()),
		"a file": {Name: "r.csv", File: strings.NewReader(long), Size: int64(len(long))}, "a workbook": {Name: "r.xlsx", Data: book},
	} {
		for after := range 4 {
			asked := 0
			_, err := Options{Stop: func() error {
				if asked++; asked > after {
					return context.Canceled
				}
				return nil
			}}.Trial(s, Source{}, Source{})
			if err != context.Canceled {
				t.Errorf("%s, stopped when asked the %d. time: %v", name, after+1, err)
			}
		}
	}
}

// A file that is read piece by piece says what one in memory says.
func TestPieces(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	piece := func(data string) Source {
		return Source{Name: "readings.csv", File: strings.NewReader(data), Size: int64(len(data))}
	}
	long := strings.Repeat("x", 900)
	var b strings.Builder
	b.WriteString("\ufeffmethod,level,reading,note\n")
	for i := range 20_000 {
		switch rng.IntN(5) {
		case 0:
			fmt.Fprintf(&b, "Meter,%d,%d.5,\"a note\nover %d \"\"lines\"\"\"\n", i%7, i%30, i)
		case 1:
			fmt.Fprintf(&b, "Violet card,%d,6..15,%s µ é 漢\r\n", i%7, long)
		default:
			fmt.Fprintf(&b, "Meter,%d,%d.5,%s\n", i%7, i%30, long[:rng.IntN(900)])
		}
	}
	for name, text := range map[string]string{
		"good": b.String(), "empty": "", "a header": "method,level,reading", "faults": b.String() + "Meter,x,1,\nMeter,1,\"1,\n",
		"NUL": b.String() + "\x00", "1252": "method,level,reading\nMeter,1,1.0\nMeter,1,1.0 \xa0\n", "CR": "method,level,reading\rMeter,1,1.0\r", "cut in a character": b.String() + "Meter,1,1,\xe6\xbc",
		"no line end": strings.TrimSuffix(b.String(), "\n"), "blank lines": strings.ReplaceAll(b.String(), "\nMeter,0", "\n\n\nMeter,0"),
	} {
		want, errWant := Trial(src("readings.csv", text), src("methods.toml", benchTOML), Source{})
		got, errGot := Trial(piece(text), src("methods.toml", benchTOML), Source{})
		if fmt.Sprint(errWant) != fmt.Sprint(errGot) {
			t.Errorf("%s:\nin memory %v\nin pieces %v", name, errWant, errGot)
		}
		if !slices.EqualFunc(want.Notes, got.Notes, note.Note.Equal) || fmt.Sprint(want.Observations) != fmt.Sprint(got.Observations) {
			t.Errorf("%s: readings or notes differ: %v %v", name, want.Notes, got.Notes)
		}
	}
}
