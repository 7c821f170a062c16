package exchange

import (
	"archive/zip"
	"bytes"
	"cmp"
	"errors"
	"io"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench/store"
)

// What the tests look into.
var (
	Tables      = tables
	TableSelect = tableSelect
	NotExported = notExported
	Nullable    = nullable
	RealColumn  = realColumn
)

const (
	ManifestName = manifestName
	TableFolder  = tableFolder
	ExportFormat = exportFormat
)

// Table is a table as it is exported.
type Table = table

func (t table) Name() string  { return t.name }
func (t table) Since() int    { return t.since }
func (t table) All() []string { return t.all() }

func (t table) Columns() []string { return t.columns }

// TryTable reads one table of a zip whatever its manifest says of it, and answers
// what inserts its rows; nil where nothing can be read.
func TryTable(data []byte, tab Table, text []byte, from Sources) func(store.Tx) error {
	in, err := openExport(bytes.NewReader(data), int64(len(data)), from)
	if err != nil {
		return nil
	}
	name := tableFolder + tab.name + ".csv"
	in.lines[name] = manifestFile{Name: name, Bytes: int64(len(text)), SHA256: store.Digest(string(text)), Rows: in.lines[name].Rows}
	return func(t store.Tx) error {
		err := in.eachRow(tab, func(_ int, row []string) error { return in.insert(t, tab, row) })
		return cmp.Or(err, in.checkDescriptions(t))
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// TestZipBomb: a table that unpacks to much more than it says is cut off.
func TestZipBomb(t *testing.T) {
	in := &incoming{left: 1 << 20}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	f := must(w.Create("bomb"))
	zeros := make([]byte, 1<<20)
	for range 64 {
		must(f.Write(zeros))
	}
	w.Close()
	z := must(zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len())))
	in.files = map[string]*zip.File{"bomb": z.File[0]}
	err := in.copied(io.Discard, "bomb", mostImportFile)
	if !errors.Is(err, &knownwater.Refusal{Kind: knownwater.TooLarge}) {
		t.Errorf("error %v", err)
	}
	z.File[0].UncompressedSize64 = 10 // a header that lies
	if err = in.copied(io.Discard, "bomb", mostImportFile); err == nil {
		t.Error("a lying header went through")
	}
}

// TestNoFormulaLeaves: what was typed into a bench is no formula in the exported
// tables, and comes back as it was.
func TestNoFormulaLeaves(t *testing.T) {
	for _, text := range []string{"=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx", "'=1", "''=1", "'plain", "plain", "", "a=b", "'", "'-"} {
		cell := quoted(text)
		if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
			t.Errorf("%q leaves as %q", text, cell)
		}
		if back := unquoted(cell); back != text {
			t.Errorf("%q came back as %q", text, back)
		}
	}
}
