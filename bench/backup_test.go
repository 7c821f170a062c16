package bench

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"knownwater"
)

func TestBackupAndRestore(t *testing.T) {
	s := full(t)
	dir := t.TempDir()
	path := filepath.Join(dir, "copy.db")
	c := must(s.Backup(ctx, owner, path))(t)
	if c.Trials != 5 || c.Readings == 0 || c.Last.IsZero() || c.Bytes == 0 {
		t.Errorf("backup: %+v", c)
	}
	_, err := s.Backup(ctx, owner, path)
	wantRefusal(t, err, knownwater.InUse)
	_, err = s.Backup(ctx, s.ines, filepath.Join(dir, "other.db"))
	wantRefusal(t, err, knownwater.NotAllowed)
	before := dump(t, s.Bench)

	must(s.SavePerson(ctx, owner, knownwater.Person{Name: "After the backup", Role: knownwater.Reader}))(t)
	_, err = Restore(ctx, path, s.path, s.clock.t)
	wantRefusal(t, err, knownwater.InUse)
	s.Close()
	got := must(Restore(ctx, path, s.path, s.clock.t))(t)
	if got.Readings != c.Readings || got.Aside == "" {
		t.Errorf("restored: %+v", got)
	}
	s.open()
	if after := dump(t, s.Bench); after != before {
		t.Error("the restored bench is another")
	}
	aside := must(Open(got.Aside, Options{}))(t)
	defer aside.Close()
	if !strings.Contains(dump(t, aside), "After the backup") {
		t.Error("what was moved aside is not what stood there")
	}
}

func TestRestoreNeedsAGoodBackup(t *testing.T) {
	s := newShed(t)
	s.Close()
	dir := t.TempDir()
	bad := filepath.Join(dir, "bad.db")
	if err := os.WriteFile(bad, []byte("no database"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := Restore(ctx, bad, s.path, s.clock.t)
	wantRefusal(t, err, knownwater.Damaged)
	_, err = Restore(ctx, filepath.Join(dir, "none.db"), s.path, s.clock.t)
	wantRefusal(t, err, knownwater.NotFound)
	s.open()
	if ps := must(s.People(ctx))(t); len(ps) != 3 {
		t.Errorf("the bench was touched: %+v", ps)
	}
}

func TestRestoreWhereThereIsNone(t *testing.T) {
	s := newShed(t)
	dir := t.TempDir()
	must(s.Backup(ctx, owner, filepath.Join(dir, "copy.db")))(t)
	c := must(Restore(ctx, filepath.Join(dir, "copy.db"), filepath.Join(dir, "new.db"), s.clock.t))(t)
	if c.Aside != "" {
		t.Errorf("restored: %+v", c)
	}
}
