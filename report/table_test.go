package report

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"image/png"
	"io"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// The tables hold every level with its numbers, and no text is a formula.
func TestTables(t *testing.T) {
	f, trial := fixture()
	var b bytes.Buffer
	if err := CSV(&b, f); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := 1
	for _, m := range f.Methods {
		want += len(m.Levels)
	}
	if len(rows) != want {
		t.Errorf("%d rows, want %d", len(rows), want)
	}
	if l := f.Methods[0].Levels[0]; rows[1][0] != f.Methods[0].Method || rows[1][4] != strconv.FormatFloat(l.Level, 'g', -1, 64) || rows[1][len(rows[1])-1] != f.Basis {
		t.Errorf("the first row is %q", rows[1])
	}
	b.Reset()
	if err := XLSX(&b, f, trial); err != nil {
		t.Fatal(err)
	}
	book, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(book.GetSheetList(), ","); got != "answer,verdicts,levels,read back,notes" {
		t.Errorf("sheets %s", got)
	}
	if got, _ := book.GetRows("levels"); len(got) != want {
		t.Errorf("%d rows of levels in the workbook, want %d", len(got), want)
	}
}

func TestTablesAreHarmless(t *testing.T) {
	f, trial := hostileFixture()
	f.Methods[0].Method = "=cmd|'/C calc'!A0"
	var b bytes.Buffer
	if err := CSV(&b, f); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		for _, c := range row {
			if _, err := strconv.ParseFloat(c, 64); err != nil && c != "" && strings.ContainsRune("=+-@", rune(c[0])) {
				t.Errorf("a formula: %q", c)
			}
		}
	}
	b.Reset()
	if err := XLSX(&b, f, trial); err != nil {
		t.Fatal(err)
	}
	book, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	if s, _ := book.GetCellFormula("levels", "A2"); s != "" {
		t.Errorf("the workbook holds the formula %q", s)
	}
}

// The archive holds a figure for every ladder, each a drawing by itself.
func TestFigureFiles(t *testing.T) {
	f, trial := fixture()
	var b, again bytes.Buffer
	if err := Figures(&b, f, trial); err != nil {
		t.Fatal(err)
	}
	if err := Figures(&again, f, trial); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same figures are another archive")
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if len(z.File) < 4*len(f.Methods) {
		t.Errorf("%d figures", len(z.File))
	}
	for _, file := range z.File {
		r, err := file.Open()
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(file.Name, ".png") {
			if img, err := png.Decode(r); err != nil || img.Bounds().Dx() != fileScale*fileWidth {
				t.Fatalf("%s: %v", file.Name, err)
			}
			continue
		}
		d := xml.NewDecoder(r)
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", file.Name, err)
			}
		}
	}
}
