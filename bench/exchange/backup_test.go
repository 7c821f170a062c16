package exchange_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/exchange"
	"knownwater/internal/benchtest"
)

func TestBackupAndRestore(t *testing.T) {
	s := benchtest.Full(t)
	dir := t.TempDir()
	path := filepath.Join(dir, "copy.db")
	c := benchtest.Must(s.Backup(ctx, benchtest.Owner, path))(t)
	if c.Trials != 6 || c.Readings == 0 || c.Last.IsZero() || c.Bytes == 0 {
		t.Errorf("backup: %+v", c)
	}
	_, err := s.Backup(ctx, benchtest.Owner, path)
	benchtest.WantRefusal(t, err, knownwater.InUse)
	_, err = s.Backup(ctx, s.Ines, filepath.Join(dir, "other.db"))
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	before := dump(t, s.Bench)

	benchtest.Must(s.SavePerson(ctx, benchtest.Owner, knownwater.Person{Name: "After the backup", Role: knownwater.Reader}))(t)
	_, err = bench.Restore(ctx, path, s.Path, s.Clock.T)
	benchtest.WantRefusal(t, err, knownwater.InUse)
	s.Close()
	got := benchtest.Must(bench.Restore(ctx, path, s.Path, s.Clock.T))(t)
	if got.Readings != c.Readings || got.Aside == "" {
		t.Errorf("restored: %+v", got)
	}
	s.Open()
	if after := dump(t, s.Bench); after != before {
		t.Error("the restored bench is another")
	}
	aside := benchtest.Must(bench.Open(got.Aside, bench.Options{}))(t)
	defer aside.Close()
	if !strings.Contains(dump(t, aside), "After the backup") {
		t.Error("what was moved aside is not what stood there")
	}
}

func TestRestoreNeedsAGoodBackup(t *testing.T) {
	s := benchtest.New(t)
	s.Close()
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad.db")
	if err := os.WriteFile(bad, []byte("no database"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := bench.Restore(ctx, bad, s.Path, s.Clock.T)
	benchtest.WantRefusal(t, err, knownwater.Damaged)
	_, err = bench.Restore(ctx, filepath.Join(dir, "none.db"), s.Path, s.Clock.T)
	benchtest.WantRefusal(t, err, knownwater.NotFound)
	s.Open()
	if ps := benchtest.Must(s.People(ctx))(t); len(ps) != 3 {
		t.Errorf("the bench was touched: %+v", ps)
	}
}

func TestRestoreWhereThereIsNone(t *testing.T) {
	s := benchtest.New(t)
	dir := t.TempDir()
	benchtest.Must(s.Backup(ctx, benchtest.Owner, filepath.Join(dir, "copy.db")))(t)
	c := benchtest.Must(bench.Restore(ctx, filepath.Join(dir, "copy.db"), filepath.Join(dir, "new.db"), s.Clock.T))(t)
	if c.Aside != "" {
		t.Errorf("restored: %+v", c)
	}
}

// TestRestoreOfDoctoredDescriptions: what no rule of a table sees, a chart without
// swatches, is refused before anything is replaced.
func TestRestoreOfDoctoredDescriptions(t *testing.T) {
	s := benchtest.New(t)
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad.db")
	benchtest.Must(exchange.BackupFile(ctx, s.Path, bad))(t)
	db := benchtest.SQL(t, bad)
	for _, statement := range []string{"drop trigger method_version_stays", "update method_version set spec = '{}' where id = 1"} {
		if _, err := db.Exec(statement); err != nil {
			t.Fatal(err)
		}
	}
	var text string
	if err := benchtest.SQL(t, s.Path).QueryRow("select sql from sqlite_schema where name = 'method_version_stays'").Scan(&text); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(text); err != nil { // the trigger is there again
		t.Fatal(err)
	}
	new := filepath.Join(dir, "new.db")
	_, err := bench.Restore(ctx, bad, new, s.Clock.T)
	var fault knownwater.Fault
	if !errors.As(err, &fault) || fault.Column != "method_version" {
		t.Errorf("restored: %v", err)
	}
	if _, err := os.Stat(new); err == nil {
		t.Error("something was put there")
	}
}
