package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Backup writes a copy of the bench file at path to the new file dst, while the
// file may be in use by this or another process, checks the copy and flushes it
// to the disk. The copy gets its name only when it is whole and checked.
func Backup(ctx context.Context, path, dst string) error {
	if _, err := os.Lstat(path); err != nil {
		return trouble("back up", err)
	}
	if err := mustBeNew(dst); err != nil {
		return err
	}
	part := dst + ".part"
	if err := os.Remove(part); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return trouble("back up", err)
	}
	err := copyInto(ctx, path, part)
	if err == nil {
		err = Verify(ctx, part)
	}
	if err == nil {
		err = settle(part, dst)
	}
	if err != nil {
		os.Remove(part)
		return trouble("back up", err)
	}
	return nil
}

func mustBeNew(path string) error {
	_, err := os.Lstat(path)
	if err == nil {
		return fmt.Errorf("%s: %w", path, fs.ErrExist)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return trouble("", err)
	}
	return nil
}

// copyInto copies a consistent state, the write-ahead log included. The new
// file is made beforehand so that nobody else can read it.
func copyInto(ctx context.Context, path, dst string) error {
	db, err := sql.Open("sqlite", dsn(path, "mode=ro", "busy_timeout(5000)"))
	if err != nil {
		return err
	}
	defer db.Close()
	if err := createPrivate(dst); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "vacuum into ?", dst); err != nil {
		return err
	}
	return nil
}

// settle flushes a finished file to the disk and gives it its name.
func settle(part, dst string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(part, dst); err != nil {
		return err
	}
	if dir, err := os.Open(filepath.Dir(dst)); err == nil { // the name, too; not every system can
		dir.Sync()
		dir.Close()
	}
	return nil
}

// Verify checks that the file at path is a whole bench of a version that this
// program knows: every page, every index, every link between rows.
func Verify(ctx context.Context, path string) error {
	if _, err := os.Stat(path); err != nil {
		return trouble("check the bench", err)
	}
	db, err := sql.Open("sqlite", dsn(path, "mode=ro", "busy_timeout(5000)"))
	if err != nil {
		return err
	}
	defer db.Close()
	return trouble("check the bench", verify(ctx, db))
}

func verify(ctx context.Context, db *sql.DB) error {
	version, err := check(ctx, db, SchemaVersion())
	if err != nil {
		return err
	}
	if version == 0 {
		return &Trouble{Kind: NotOurs, Err: errors.New("empty file")}
	}
	var word string
	if err := db.QueryRowContext(ctx, "pragma integrity_check(1)").Scan(&word); err != nil {
		return err
	}
	if word != "ok" {
		return &Trouble{Kind: Damaged, Err: errors.New(word)}
	}
	var broken int
	if err := db.QueryRowContext(ctx, "select count(*) from pragma_foreign_key_check").Scan(&broken); err != nil {
		return err
	}
	if broken > 0 {
		return &Trouble{Kind: Damaged, Err: fmt.Errorf("%d rows name a row that is not there", broken)}
	}
	return nil
}

// Restore checks the backup, and puts a copy of it at path. What stood there is
// moved aside to the new name aside. It refuses while path is open anywhere.
func Restore(ctx context.Context, backup, path, aside string) error {
	if err := Verify(ctx, backup); err != nil {
		return err
	}
	path, err := realPath(path)
	if err != nil {
		return trouble("restore", err)
	}
	lock, err := lockFile(path + ".lock")
	if err != nil {
		return err
	}
	defer lock.Close()
	if err := mustBeNew(aside); err != nil {
		return err
	}
	part := path + ".restore"
	os.Remove(part)
	if err := Backup(ctx, backup, part); err != nil {
		return err
	}
	return trouble("restore", swap(part, path, aside))
}

// swap moves the old file with its log aside, then the new one into its place.
func swap(part, path, aside string) error {
	for _, end := range []string{"", "-wal", "-shm"} {
		if err := os.Rename(path+end, aside+end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return settle(part, path)
}

// Peek scans one row from the file at path without opening it as a bench.
func Peek(ctx context.Context, path, query string, into ...any) error {
	db, err := sql.Open("sqlite", dsn(path, "mode=ro", "busy_timeout(5000)"))
	if err != nil {
		return err
	}
	defer db.Close()
	return trouble("look into the bench", db.QueryRowContext(ctx, query).Scan(into...))
}
