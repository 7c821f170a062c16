package sqlite

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// TestBackupAndWritingAtOnce copies while another goroutine writes: the copy is
// whole and holds all that was there when it began.
func TestBackupAndWritingAtOnce(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	for i := range 100 {
		if err := insert(t, db, addPerson, fmt.Sprint("before ", i)); err != nil {
			t.Fatal(err)
		}
	}
	stop, done := make(chan bool), make(chan error)
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				done <- nil
				return
			default:
				if err := insert(t, db, addPerson, fmt.Sprint("during ", i)); err != nil {
					done <- err
					return
				}
			}
		}
	}()
	dst := filepath.Join(t.TempDir(), "copy.db")
	err := Backup(ctx, path, dst)
	close(stop)
	if werr := <-done; werr != nil {
		t.Error(werr)
	}
	if err != nil {
		t.Fatal(err)
	}
	copied := mustOpen(t, dst)
	if n := count(t, copied, "select count(*) from person where name like 'before%'"); n != 100 {
		t.Errorf("the copy holds %d of 100", n)
	}
	info, err := os.Stat(dst)
	if err != nil || info.Mode().Perm()&0o077 != 0 {
		t.Errorf("the copy's mode: %v, %v", info.Mode(), err)
	}
}

func TestBackupNeverOverwrites(t *testing.T) {
	path := newPath(t)
	mustOpen(t, path)
	dst := filepath.Join(t.TempDir(), "there.db")
	if err := os.WriteFile(dst, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := Backup(ctx, path, dst); !errors.Is(err, fs.ErrExist) {
		t.Errorf("error %v, want exists", err)
	}
	if b, _ := os.ReadFile(dst); string(b) != "mine" {
		t.Error("the file there was overwritten")
	}
}

func TestRestore(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	if err := insert(t, db, addPerson, "kept"); err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(t.TempDir(), "backup.db")
	if err := Backup(ctx, path, backup); err != nil {
		t.Fatal(err)
	}
	if err := insert(t, db, addPerson, "later"); err != nil {
		t.Fatal(err)
	}
	aside := path + ".aside"
	wantTrouble(t, Restore(ctx, backup, path, aside), InUse)
	db.Close()
	if err := Restore(ctx, backup, path, aside); err != nil {
		t.Fatal(err)
	}
	db = mustOpen(t, path)
	if n := count(t, db, "select count(*) from person"); n != 1 {
		t.Errorf("%d persons after restoring, want 1", n)
	}
	db.Close()
	old := mustOpen(t, aside)
	if n := count(t, old, "select count(*) from person"); n != 2 {
		t.Errorf("%d persons in what was moved aside, want 2", n)
	}
}

func TestRestoreRefusesADamagedBackup(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	for i := range 500 {
		if err := insert(t, db, addPerson, fmt.Sprint("person number ", i)); err != nil {
			t.Fatal(err)
		}
	}
	backup := filepath.Join(t.TempDir(), "backup.db")
	if err := Backup(ctx, path, backup); err != nil {
		t.Fatal(err)
	}
	db.Close()
	whole, err := os.ReadFile(backup)
	if err != nil {
		t.Fatal(err)
	}
	for name, damage := range map[string]func([]byte){
		"a page with a broken head": func(b []byte) {
			for at := len(b) - 4096; at > 4096; at -= 4096 {
				if b[at] == 0x0d { // a leaf of a table
					copy(b[at:at+64], make([]byte, 64))
					return
				}
			}
		},
		"a letter that is not what the index says": func(b []byte) {
			b[bytes.Index(b, []byte("person number 250"))] = 'q'
		},
		"the last third missing": func(b []byte) { clear(b[len(b)*2/3:]) },
	} {
		t.Run(name, func(t *testing.T) {
			b := bytes.Clone(whole)
			damage(b)
			if err := os.WriteFile(backup, b, 0o600); err != nil {
				t.Fatal(err)
			}
			wantTrouble(t, Restore(ctx, backup, path, path+".aside"), Damaged)
			db := mustOpen(t, path)
			if n := count(t, db, "select count(*) from person"); n != 500 {
				t.Errorf("the bench was touched: %d persons", n)
			}
			db.Close()
		})
	}
}
