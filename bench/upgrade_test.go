package bench_test

import (
	"compress/gzip"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/sqlite"
)

// stored unpacks a bench of an earlier schema.
func stored(t *testing.T, file string) string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "bench.db")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// rowsOf are all rows of all tables of a file, each table by the columns that it had
// in tables; nil: by all that it has.
func rowsOf(t *testing.T, path string, tables map[string][]string) (map[string][]string, map[string]string) {
	t.Helper()
	db := benchtest.SQL(t, path)
	if tables == nil {
		tables = map[string][]string{}
		names, err := db.Query("select m.name, c.name from sqlite_schema m join pragma_table_info(m.name) c where m.type = 'table' order by m.name, c.cid")
		if err != nil {
			t.Fatal(err)
		}
		defer names.Close()
		for names.Next() {
			var table, column string
			if err := names.Scan(&table, &column); err != nil {
				t.Fatal(err)
			}
			tables[table] = append(tables[table], column)
		}
	}
	all := map[string]string{}
	for table, columns := range tables {
		all[table] = benchtest.Rows(t, path, fmt.Sprintf("(select %s from %s order by 1, 2)", strings.Join(columns, ", "), table))
	}
	return tables, all
}

// TestEveryEarlierSchema opens a bench of every earlier schema, made by the program
// of its day: it is brought up to date with every row as it was, a copy beside it,
// and everything works on.
func TestEveryEarlierSchema(t *testing.T) {
	files, err := filepath.Glob("testdata/schema-*.db.gz")
	if err != nil || len(files) < 7 {
		t.Fatalf("%d stored benches, %v", len(files), err)
	}
	for v := 4; v < sqlite.SchemaVersion(); v++ {
		if !slices.Contains(files, fmt.Sprintf("testdata/schema-%d.db.gz", v)) {
			t.Errorf("no bench of schema %d is stored", v)
		}
	}
	for i, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			path := stored(t, file)
			tables, was := rowsOf(t, path, nil)
			if strings.Count(was["reading"], "\n") < 20 || was["photo"] == "" {
				t.Fatalf("the stored bench holds no readings or no photographs")
			}
			b, err := bench.Open(path, bench.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if i == 0 || i == len(files)-1 { // most of the time goes into these, and a bench of the first goes through what all others do
				judged(t, b)
			}
			worksOn(t, b, was)
			if err := b.Close(); err != nil {
				t.Fatal(err)
			}
			if err := sqlite.Verify(ctx, path); err != nil {
				t.Error(err)
			}
			if left, _ := filepath.Glob(path + ".before-upgrade-from-*"); len(left) != 1 {
				t.Errorf("copies from before: %v", left)
			}
			if b, err = bench.Open(path, bench.Options{}); err != nil {
				t.Fatalf("opened again: %v", err)
			}
			b.Close()
			path = stored(t, file) // once more, untouched by worksOn
			if b, err = bench.Open(path, bench.Options{}); err != nil {
				t.Fatal(err)
			}
			b.Close()
			_, is := rowsOf(t, path, tables)
			for table, rows := range was {
				if rows != is[table] {
					t.Errorf("%s was\n%.2000s\nis\n%.2000s", table, rows, is[table])
				}
			}
		})
	}
}

// judged asks for the findings of the trials that are over.
func judged(t *testing.T, b *bench.Bench) {
	t.Helper()
	for _, r := range benchtest.Must(b.Trials(ctx))(t) {
		if r.State == trials.Finished {
			s := benchtest.Must(b.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
			if len(s.Findings.Methods) == 0 {
				t.Errorf("no findings of %q", r.Plan.Title)
			}
		}
	}
}

// worksOn reads what the bench holds through its operations, and takes it out and in.
func worksOn(t *testing.T, b *bench.Bench, was map[string]string) {
	t.Helper()
	for _, c := range benchtest.Must(b.Curves(ctx))(t) {
		for _, v := range benchtest.Must(b.CurveVersions(ctx, c.ID))(t) {
			if _, err := b.Fit(v); err != nil {
				t.Errorf("version %d of %s: %v", v.Version, v.Spec.Name, err)
			}
		}
		list, _, err := b.Results(ctx, benchtest.Owner, calibrations.ResultFilter{Curve: c.ID, Limit: 1000})
		var byCurves int // records have results, too
		benchtest.SQL(t, b.Path()).QueryRow("select count(*) from result where curve_version_id is not null").Scan(&byCurves)
		if err != nil || c.ID == 1 && byCurves != len(list) {
			t.Errorf("%d results, %v", len(list), err)
		}
	}
	if ok := benchtest.Must(b.CheckPassphrase(ctx, "grey heron at low tide", "here"))(t); !ok {
		t.Error("the passphrase is lost")
	}
	other := filepath.Join(t.TempDir(), "other.db")
	if err := benchtest.ImportAt(benchtest.Export(t, b), other); err != nil {
		t.Fatal(err)
	}
	tables, before := rowsOf(t, b.Path(), nil)
	for _, private := range []string{"secret", "session", "pairing", "attempt"} {
		delete(tables, private)
	}
	_, after := rowsOf(t, other, tables)
	for table, rows := range after {
		if rows != before[table] {
			t.Errorf("after an export and an import %s was\n%.1000s\nis\n%.1000s", table, before[table], rows)
		}
	}
}
