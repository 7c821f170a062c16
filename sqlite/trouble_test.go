package sqlite

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
)

// TestFull lets the file grow no further: the write is refused with a clear
// word, and what was kept before is there.
func TestFull(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	if err := insert(t, db, addPerson, "kept"); err != nil {
		t.Fatal(err)
	}
	if _, err := db.write.Exec("pragma max_page_count = 1"); err != nil { // SQLite makes it the present size
		t.Fatal(err)
	}
	var err error
	for i := 0; err == nil && i < 1000; i++ {
		err = insert(t, db, addPerson, strings.Repeat("x", 3000)+fmt.Sprint(i))
	}
	wantTrouble(t, err, Full)
	if n := count(t, db, "select count(*) from person where name = 'kept'"); n != 1 {
		t.Error("what was kept before is gone")
	}
	if err := Verify(ctx, path); err != nil {
		t.Error(err)
	}
}

// TestFullDisk does the same on a real file system of 1 MiB, where the system
// lets us make one.
func TestFullDisk(t *testing.T) {
	if runtime.GOOS != "linux" || os.Getuid() != 0 {
		t.Skip("needs Linux and the right to mount")
	}
	dir := t.TempDir()
	if err := mountSmall(dir); err != nil {
		t.Skip("cannot mount: ", err)
	}
	defer unmount(dir)
	path := filepath.Join(dir, "bench.db")
	db, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	kept := 0
	for err == nil && kept < 1000 {
		if err = insert(t, db, addPerson, strings.Repeat("x", 3000)+fmt.Sprint(kept)); err == nil {
			kept++
		}
	}
	wantTrouble(t, err, Full)
	if n := count(t, db, "select count(*) from person"); n != kept || kept == 0 {
		t.Errorf("%d rows, %d were kept", n, kept)
	}
	wantTrouble(t, Backup(ctx, path, filepath.Join(dir, "copy.db")), Full)
	if left, _ := filepath.Glob(filepath.Join(dir, "copy.db*")); len(left) > 0 {
		t.Errorf("left behind by the failed backup: %v", left)
	}
	if err := Verify(ctx, path); err != nil {
		t.Error(err)
	}
}

// TestReadOnly takes the right to write away. Root may write all the same, so
// there it is the folder that is made unwritable by the system.
func TestReadOnly(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "bench.db")
	db, err := Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	if err := insert(t, db, addPerson, "kept"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	if os.Getuid() == 0 {
		if runtime.GOOS != "linux" {
			t.Skip("root may write everywhere")
		}
		if err := bindReadOnly(dir); err != nil {
			t.Skip("cannot mount: ", err)
		}
		defer unmount(dir)
	} else {
		for name, mode := range map[string]os.FileMode{path: 0o400, path + ".lock": 0o400, dir: 0o500} {
			if err := os.Chmod(name, mode); err != nil {
				t.Fatal(err)
			}
		}
		defer os.Chmod(dir, 0o700)
	}
	_, err = Open(ctx, path)
	wantTrouble(t, err, ReadOnly)
}

func TestTroubleOfTheSystem(t *testing.T) {
	for err, want := range map[error]Kind{
		syscall.ENOSPC:  Full,
		syscall.EROFS:   ReadOnly,
		syscall.EACCES:  ReadOnly,
		syscall.ENOENT:  Missing,
		syscall.ENOTDIR: Missing,
		syscall.EINTR:   "",
	} {
		if got := kindOf(&os.PathError{Op: "open", Path: "x", Err: err}); got != want {
			t.Errorf("%v: %q, want %q", err, got, want)
		}
	}
}
