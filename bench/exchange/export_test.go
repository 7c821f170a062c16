package exchange_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/bench/exchange"
	"knownwater/bench/methods"
	"knownwater/bench/standards"
	"knownwater/bench/store"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/internal/processor"
	"knownwater/sqlite"
)

// dump is every row of every exported table, as text.
func dump(t *testing.T, b *bench.Bench) string {
	t.Helper()
	var out strings.Builder
	for _, tab := range exchange.Tables {
		rows, err := benchtest.SQL(t, b.Path()).Query(exchange.TableSelect[tab.Name()])
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			cells := make([]any, len(tab.Columns()))
			into := make([]any, len(cells))
			for i := range cells {
				into[i] = &cells[i]
			}
			if err := rows.Scan(into...); err != nil {
				t.Fatal(err)
			}
			fmt.Fprintf(&out, "%s %#v\n", tab.Name(), cells) // with types: 1, 1.0, "1" and nothing differ
		}
		if err := rows.Err(); err != nil {
			t.Fatal(err)
		}
	}
	return out.String()
}

func TestRoundTripLosesNothing(t *testing.T) {
	s := benchtest.Full(t)
	data := benchtest.Export(t, s.Bench)
	before := dump(t, s.Bench) // after the export, which leaves a note in the sealed trial
	for _, tab := range exchange.Tables {
		if !strings.Contains(before, tab.Name()+" ") {
			t.Errorf("the test bench has nothing in table %s", tab.Name())
		}
	}
	path := filepath.Join(t.TempDir(), "new.db")
	if err := benchtest.ImportAt(data, path); err != nil {
		t.Fatal(err)
	}
	other := benchtest.Must(bench.Open(path, bench.Options{Now: s.Clock.Now}))(t)
	defer other.Close()
	if after := dump(t, other); after != before {
		a, b := strings.Split(before, "\n"), strings.Split(after, "\n")
		for i := range min(len(a), len(b)) {
			if a[i] != b[i] {
				t.Fatalf("row %d was\n%s\nis\n%s", i, a[i], b[i])
			}
		}
		t.Fatalf("%d rows, were %d", len(b), len(a))
	}
	if err := benchtest.Exec(t, path, "delete from reading"); err == nil {
		t.Error("the imported bench is not append-only")
	}
	if left, _ := filepath.Glob(path + ".import*"); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if err := benchtest.ImportAt(data, path); !errors.Is(err, &knownwater.Refusal{Kind: knownwater.InUse}) {
		t.Errorf("import over a bench: %v", err)
	}
}

func TestExportHoldsNoSecrets(t *testing.T) {
	s := benchtest.New(t)
	if err := s.SetPassphrase(ctx, benchtest.Owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	benchtest.Must(s.NewPairing(ctx, benchtest.Owner, s.Ines.Person, time.Hour))(t)
	s.Sessions().Commit("token", []byte("session data"), s.Clock.T.Add(time.Hour))
	data := benchtest.Export(t, s.Bench)
	z := benchtest.Must(zip.NewReader(bytes.NewReader(data), int64(len(data))))(t)
	for _, f := range z.File {
		r := benchtest.Must(f.Open())(t)
		text := string(benchtest.Must(io.ReadAll(r))(t))
		for _, secret := range []string{"argon2id", "session data", store.Digest("token")} {
			if strings.Contains(text, secret) {
				t.Errorf("%s holds %s", f.Name, secret)
			}
		}
	}
	benchtest.WantRefusal(t, s.Export(ctx, s.Ines, io.Discard), knownwater.NotAllowed)
}

func TestExportWhileSealedIsRecorded(t *testing.T) {
	s := benchtest.New(t)
	r := s.Sealed(s.Plan())
	benchtest.Export(t, s.Bench)
	if seen := benchtest.Must(s.Trial(ctx, benchtest.Owner, r.ID))(t).Key.Seen; len(seen) != 1 || seen[0].Name != "Olive" {
		t.Errorf("looks at the key: %+v", seen)
	}
}

// forged changes a table and puts its new SHA-256 and size into the manifest, as
// somebody would who means harm.
func forged(t *testing.T, data []byte, table string, change func(string) string) []byte {
	t.Helper()
	name := exchange.TableFolder + table + ".csv"
	var old, text []byte
	out := benchtest.Rezip(t, data, name, func(b []byte) []byte {
		old, text = b, []byte(change(string(b)))
		return text
	}, nil)
	return benchtest.Rezip(t, out, exchange.ManifestName, func(b []byte) []byte {
		m := strings.Replace(string(b), store.Digest(string(old)), store.Digest(string(text)), 1)
		return []byte(strings.Replace(m, fmt.Sprintf("bytes = %d\nsha256 = '%s'", len(old), store.Digest(string(text))),
			fmt.Sprintf("bytes = %d\nsha256 = '%s'", len(text), store.Digest(string(text))), 1))
	}, nil)
}

func TestHostileImports(t *testing.T) {
	s := benchtest.Full(t)
	good := benchtest.Export(t, s.Bench)
	same := func(b []byte) []byte { return b }
	empty := func([]byte) []byte { return nil }
	replace := func(old, new string) func([]byte) []byte {
		return func(b []byte) []byte { return bytes.ReplaceAll(b, []byte(old), []byte(new)) }
	}
	for name, data := range map[string][]byte{
		"no zip":            []byte("hello"),
		"nothing":           {},
		"cut short":         good[:len(good)/2],
		"no manifest":       benchtest.Rezip(t, good, exchange.ManifestName, empty, nil),
		"broken manifest":   benchtest.Rezip(t, good, exchange.ManifestName, replace("format", "[[["), nil),
		"other format":      benchtest.Rezip(t, good, exchange.ManifestName, replace(exchange.ExportFormat, "something else"), nil),
		"old schema":        benchtest.Rezip(t, good, exchange.ManifestName, replace(fmt.Sprintf("schema = %d", sqlite.SchemaVersion()), "schema = 1"), nil),
		"table missing":     benchtest.Rezip(t, good, "tables/vial.csv", empty, nil),
		"table changed":     benchtest.Rezip(t, good, "tables/reading.csv", replace("5", "6"), nil),
		"manifest twice":    benchtest.Rezip(t, good, "", same, map[string][]byte{exchange.ManifestName: []byte("x")}),
		"row counts lie":    benchtest.Rezip(t, good, exchange.ManifestName, replace("rows = ", "rows = 1"), nil),
		"negative bytes":    benchtest.Rezip(t, good, exchange.ManifestName, replace("bytes = ", "bytes = -"), nil),
		"other header":      forged(t, good, "person", func(s string) string { return strings.Replace(s, "alias", "alibi", 1) }),
		"text for number":   forged(t, good, "known", func(s string) string { return strings.ReplaceAll(s, "6.9", "six") }),
		"no such role":      forged(t, good, "person", func(s string) string { return strings.Replace(s, ",reader,", ",king,", 1) }),
		"no such method":    forged(t, good, "method_version", func(s string) string { return strings.Replace(s, "\n1,1,", "\n1,77,", 1) }),
		"spec is no JSON":   forged(t, good, "need", func(s string) string { return strings.ReplaceAll(s, "{", "[") }),
		"chart without":     forged(t, good, "method_version", func(s string) string { return strings.ReplaceAll(s, `""value"":`, `""worth"":`) }),
		"spec is a list":    forged(t, good, "method_version", func(s string) string { return strings.Replace(s, `"{""name""`, `"[{""name""`, 1) }),
		"set of strings":    forged(t, good, "prepared_version", func(s string) string { return strings.ReplaceAll(s, `""amount"":`, `""amount"":""x"",""y"":`) }),
		"set beyond reason": forged(t, good, "prepared_version", func(s string) string { return strings.ReplaceAll(s, `""nominal"":250`, `""nominal"":-250`) }),
		"set without stock": forged(t, good, "prepared_version", func(s string) string { return strings.ReplaceAll(s, `""stock"":{`, `""stick"":{`) }),
		"curve of no shape": forged(t, good, "curve_version", func(s string) string { return strings.ReplaceAll(s, `""kind"":""absorbance""`, `""kind"":""spoon""`) }),
		"curve of strings":  forged(t, good, "curve_version", func(s string) string { return strings.ReplaceAll(s, `""signal"":0`, `""signal"":""x"",""y"":0`) }),
		"re-check of none":  forged(t, good, "curve_recheck", func(s string) string { return strings.ReplaceAll(s, `""blank"":[`, `""blink"":[`) }),
		"slope of nothing":  forged(t, good, "curve_version", func(s string) string { return strings.ReplaceAll(s, `""factor"":`, `""facts"":`) }),
		"result of nothing": forged(t, good, "result", func(s string) string { return strings.ReplaceAll(s, ",[2.5],", ",[],") }),
		"result of nobody":  forged(t, good, "result", func(s string) string { return strings.Replace(s, ",1,north tank,", ",,north tank,", 1) }),
		"thing of no kind":  forged(t, good, "shelf_version", func(s string) string { return strings.ReplaceAll(s, `{""kind"":""device""`, `{""kind"":""spoon""`) }),
		"plan of no set":    forged(t, good, "trial", func(s string) string { return strings.ReplaceAll(s, `""set"":2`, `""set"":99`) }),
		"plan of strings":   forged(t, good, "trial", func(s string) string { return strings.ReplaceAll(s, `""sessions"":2`, `""sessions"":""2""`) }),
		"time that is none": forged(t, good, "event", func(s string) string { return strings.Replace(s, "2026-03-01T", "last winter ", 1) }),
		"reading without":   forged(t, good, "reading", func(s string) string { return strings.ReplaceAll(s, ",1..2.5,", ",,") }),
		"half a quote":      forged(t, good, "event", func(s string) string { return s + "\"" }),
		"columns missing":   forged(t, good, "lot", func(s string) string { return s + "1,2\n" }),
		"photo of no name":  forged(t, good, "photo", func(s string) string { return s[:strings.Index(s, "\n")+1] + "../../x,image/png,1,,,\n" }),
	} {
		path := filepath.Join(t.TempDir(), "new.db")
		err := benchtest.ImportAt(data, path)
		t.Logf("%s: %v", name, err)
		var fs knownwater.Faults
		var r *knownwater.Refusal
		if !errors.As(err, &fs) && !errors.As(err, &r) {
			t.Errorf("%s: error %v", name, err)
		}
		if left, _ := os.ReadDir(filepath.Dir(path)); len(left) > 0 {
			t.Errorf("%s: left behind %v", name, left)
		}
	}
}

// TestImportHoldsNoTable: a table of 60 MB, small in the zip, is never held whole.
func TestImportHoldsNoTable(t *testing.T) {
	s := benchtest.New(t)
	good := benchtest.Export(t, s.Bench)
	const rows = 60_000
	before := 0
	data := forged(t, good, "event", func(text string) string {
		before = strings.Count(text, "\n") - 1
		var b strings.Builder
		b.WriteString(text)
		for i := range rows {
			fmt.Fprintf(&b, "%d,2026-03-01T08:00:00.000Z,Olive,here,,noted,%s\n", 1000+i, strings.Repeat("x", 1000))
		}
		return b.String()
	})
	data = benchtest.Rezip(t, data, exchange.ManifestName, func(b []byte) []byte {
		at := bytes.Index(b, []byte("tables/event.csv"))
		return append(b[:at:at], bytes.Replace(b[at:], fmt.Appendf(nil, "rows = %d\n", before), fmt.Appendf(nil, "rows = %d\n", before+rows), 1)...)
	}, nil)
	path := filepath.Join(t.TempDir(), "new.db")
	var err error
	const most = 40 << 20
	if peak := processor.Peak(most, func() { err = benchtest.ImportAt(data, path) }); err != nil || peak > most {
		t.Errorf("held %d MB, error %v", peak>>20, err)
	}
}

func TestImportOfANewerProgram(t *testing.T) {
	s := benchtest.New(t)
	data := benchtest.Rezip(t, benchtest.Export(t, s.Bench), exchange.ManifestName, func(b []byte) []byte {
		return bytes.Replace(b, fmt.Appendf(nil, "schema = %d", sqlite.SchemaVersion()), fmt.Appendf(nil, "schema = %d", sqlite.SchemaVersion()+1), 1)
	}, nil)
	benchtest.WantRefusal(t, benchtest.ImportAt(data, filepath.Join(t.TempDir(), "new.db")), knownwater.Newer)
}

// TestPathsInTheZip: names that lead elsewhere are never followed, listed or not.
func TestPathsInTheZip(t *testing.T) {
	s := benchtest.New(t)
	dir := t.TempDir()
	bad := map[string][]byte{"../escaped": []byte("x"), "/tmp/knownwater-escaped": []byte("x"), "tables/../../escaped": []byte("x"), "..\\escaped": []byte("x")}
	data := benchtest.Rezip(t, benchtest.Export(t, s.Bench), "", nil, bad)
	inner := filepath.Join(dir, "inner")
	if err := os.Mkdir(inner, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := benchtest.ImportAt(data, filepath.Join(inner, "new.db")); err != nil {
		t.Fatal(err)
	}
	for _, place := range []string{filepath.Join(dir, "escaped"), "/tmp/knownwater-escaped"} {
		if _, err := os.Stat(place); err == nil {
			t.Errorf("%s was written", place)
		}
	}
}

// FuzzImport feeds a manifest and a table to the import: whatever they hold, it
// answers, and what it lets in is on the bench's own terms.
func FuzzImport(f *testing.F) {
	b, err := store.Open(ctx, filepath.Join(f.TempDir(), "b.db"), nil)
	if err != nil {
		f.Fatal(err)
	}
	defer b.Close()
	f.Add([]byte("format = 'knownwater bench 1'\nschema = 4\n[[file]]\nname = 'tables/person.csv'\nrows = 1\nbytes = 3\nsha256 = 'x'\n"),
		[]byte("id,name,role,alias,gone,made_at,made_by,made_from\n1,Ines,reader,,0,2026-03-01T08:00:00.000Z,Olive,here\n"), 1)
	f.Add([]byte("format = 'knownwater bench 1'\nschema = 4\n"), []byte("id,retired\n1,0\n-5,x\n"), 2)
	f.Fuzz(func(t *testing.T, toml, text []byte, which int) {
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		tab := exchange.Tables[uint(which)%uint(len(exchange.Tables))]
		name := exchange.TableFolder + tab.Name() + ".csv"
		benchtest.Must(benchtest.Must(w.Create(exchange.ManifestName))(t).Write(toml))(t)
		benchtest.Must(benchtest.Must(w.Create(name))(t).Write(text))(t)
		w.Close()
		insert := exchange.TryTable(out.Bytes(), tab, text, subjects)
		if insert == nil {
			return
		}
		undo := errors.New("undo")
		err := b.Write(ctx, func(x store.Tx) error { return errors.Join(insert(x), undo) })
		if err == nil {
			t.Error("no error, though it was undone")
		}
	})
}

// TestExportOfAnOlderSchema: an export from before there was a shelf comes in.
func TestExportOfAnOlderSchema(t *testing.T) {
	s := benchtest.New(t)
	data := benchtest.Export(t, s.Bench)
	for _, tab := range exchange.Tables {
		if tab.Since() > 4 {
			data = benchtest.Rezip(t, data, "tables/"+tab.Name()+".csv", func([]byte) []byte { return nil }, nil)
		}
	}
	for table, later := range map[string]int{"trial": 1, "known": 3} { // without the columns that came later
		data = forged(t, data, table, func(text string) string {
			rows := benchtest.Must(csv.NewReader(strings.NewReader(text)).ReadAll())(t)
			var out bytes.Buffer
			w := csv.NewWriter(&out)
			for _, r := range rows {
				w.Write(r[:len(r)-later])
			}
			w.Flush()
			return out.String()
		})
	}
	data = benchtest.Rezip(t, data, exchange.ManifestName, func(b []byte) []byte {
		return []byte(strings.Replace(string(b), fmt.Sprintf("schema = %d", sqlite.SchemaVersion()), "schema = 4", 1))
	}, nil)
	path := t.TempDir() + "/old.db"
	if err := benchtest.ImportAt(data, path); err != nil {
		t.Fatal(err)
	}
	b := benchtest.Must(bench.Open(path, bench.Options{}))(t)
	defer b.Close()
	if len(benchtest.Must(b.Methods(ctx))(t)) != 2 || len(benchtest.Must(b.Shelf(ctx))(t)) != 0 {
		t.Error("something is missing, or more than there was")
	}
	os.Remove(path)
}

// subjects look into what a table cannot check.
var subjects = exchange.Sources{PhotoType: trials.PhotoType, KeptFaults: []func(store.Tx) (string, error){
	methods.KeptFaults, standards.KeptFaults, calibrations.KeptFaults, func(t store.Tx) (string, error) { return trials.KeptFaults(t, standards.ByVersion) }}}
