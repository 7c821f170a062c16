package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

var ctx = context.Background()

func newPath(t *testing.T) string { return filepath.Join(t.TempDir(), "bench.db") }

func mustOpen(t *testing.T, path string) *DB {
	t.Helper()
	db, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func wantTrouble(t *testing.T, err error, kind Kind) {
	t.Helper()
	var tr *Trouble
	if !errors.As(err, &tr) || tr.Kind != kind {
		t.Fatalf("error %v, want trouble %q", err, kind)
	}
}

const addPerson = "insert into person (name, role, alias, gone, made_at, made_by, made_from) values (?, 'reader', '', 0, '', '', '')"

func insert(t *testing.T, db *DB, query string, args ...any) error {
	t.Helper()
	return db.Write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, query, args...)
		return err
	})
}

func count(t *testing.T, db *DB, query string, args ...any) (n int) {
	t.Helper()
	err := db.Read(ctx, func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, query, args...).Scan(&n) })
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestWhatWasWrittenIsThereAgain(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	if err := insert(t, db, addPerson, "Ines"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	db = mustOpen(t, path)
	if n := count(t, db, "select count(*) from person where name = 'Ines'"); n != 1 {
		t.Errorf("%d persons, want 1", n)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode().Perm()&0o077 != 0 {
		t.Errorf("others can read the file: %v", info.Mode())
	}
}

func TestPragmas(t *testing.T) {
	db := mustOpen(t, newPath(t))
	want := map[string]string{"journal_mode": "wal", "synchronous": "2", "foreign_keys": "1", "busy_timeout": "5000"}
	for name, value := range want {
		var got string
		if err := db.write.QueryRow("pragma " + name).Scan(&got); err != nil || got != value {
			t.Errorf("%s = %q, %v; want %q", name, got, err, value)
		}
	}
	if _, err := db.read.Exec(addPerson, "Ines"); err == nil {
		t.Error("a reading connection could write")
	}
}

func TestFailedWriteLeavesNothing(t *testing.T) {
	db := mustOpen(t, newPath(t))
	stop := errors.New("stop")
	err := db.Write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.Exec(addPerson, "Ines"); err != nil {
			t.Fatal(err)
		}
		return stop
	})
	if !errors.Is(err, stop) {
		t.Fatalf("error %v, want stop", err)
	}
	if n := count(t, db, "select count(*) from person"); n != 0 {
		t.Errorf("%d persons, want 0", n)
	}
}

func TestSecondOpenIsRefused(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	_, err := Open(ctx, path)
	wantTrouble(t, err, InUse)

	link := filepath.Join(t.TempDir(), "link.db")
	if err := os.Symlink(path, link); err != nil {
		t.Skip(err)
	}
	_, err = Open(ctx, link)
	wantTrouble(t, err, InUse)

	db.Close()
	mustOpen(t, link)
}

// TestOtherProcess opens the file in another process while this one has it, and
// after this one has let go.
func TestOtherProcess(t *testing.T) {
	if path := os.Getenv("KNOWNWATER_TEST_OPEN"); path != "" {
		db, err := Open(ctx, path)
		if err != nil {
			fmt.Println(err)
			os.Exit(3)
		}
		db.Close()
		os.Exit(0)
	}
	path := newPath(t)
	db := mustOpen(t, path)
	other := func() (string, error) {
		cmd := exec.Command(os.Args[0], "-test.run=^TestOtherProcess$")
		cmd.Env = append(os.Environ(), "KNOWNWATER_TEST_OPEN="+path)
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	if out, err := other(); err == nil || !strings.Contains(out, "open in another process") {
		t.Errorf("the second process said %q, %v", out, err)
	}
	db.Close()
	if out, err := other(); err != nil {
		t.Errorf("after closing, the second process said %q, %v", out, err)
	}
}

func TestNotABench(t *testing.T) {
	path := newPath(t)
	if err := os.WriteFile(path, []byte(strings.Repeat("this is no database at all. ", 200)), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Open(ctx, path)
	wantTrouble(t, err, NotOurs)

	path = newPath(t)
	other, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := other.Exec("create table something (else_ text)"); err != nil {
		t.Fatal(err)
	}
	other.Close()
	_, err = Open(ctx, path)
	wantTrouble(t, err, NotOurs)
}

func TestNoSuchFolder(t *testing.T) {
	_, err := Open(ctx, filepath.Join(t.TempDir(), "no", "such", "bench.db"))
	wantTrouble(t, err, Missing)
}

func TestEveryTableIsStrict(t *testing.T) {
	db := mustOpen(t, newPath(t))
	if n := count(t, db, "select count(*) from pragma_table_list where schema = 'main' and type = 'table' and name not like 'sqlite%' and strict = 0"); n != 0 {
		t.Errorf("%d tables are not strict", n)
	}
}

// TestLibcPin holds modernc.org/libc at the version that modernc.org/sqlite
// itself asks for, as its maintainers demand.
func TestLibcPin(t *testing.T) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.GoMod}}", "modernc.org/sqlite").Output()
	if err != nil {
		t.Skip("no go command: ", err)
	}
	mod, err := os.ReadFile(strings.TrimSpace(string(out)))
	if err != nil {
		t.Fatal(err)
	}
	out, err = exec.Command("go", "list", "-m", "modernc.org/libc").Output()
	if err != nil {
		t.Fatal(err)
	}
	have := strings.TrimSpace(string(out))
	if !strings.Contains(string(mod), have+"\n") {
		t.Errorf("go.mod has %q, but modernc.org/sqlite asks for another version", have)
	}
}
