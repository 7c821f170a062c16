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
		err = verifyFile(ctx, part, "mode=rw", "query_only(1)")
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
	return shutOut(ctx, dst)
}

// entrances are the tables of who may come in with what they carry, apart from
// the passphrase.
var entrances = []string{"session", "pairing", "attempt"}

// shutOut takes every session and pairing out of a copy, so that nobody comes
// back in with it whose access was ended since.
func shutOut(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", dsn(path, "secure_delete(1)", "journal_mode(DELETE)"))
	if err != nil {
		return err
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	for _, table := range entrances {
		var n int
		if err := db.QueryRowContext(ctx, "select count(*) from sqlite_schema where type = 'table' and name = ?", table).Scan(&n); err != nil {
			return err
		}
		if n == 0 { // an older version
			continue
		}
		if _, err := db.ExecContext(ctx, "delete from "+table); err != nil {
			return err
		}
	}
	return db.Close()
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
// program knows: its schema, every page, every index, every link between rows.
// It leaves the file and its folder as they are; the rules of single rows SQLite
// looks at only where it could write (found in version 3.54), which is in the copy
// that a backup or a restore makes.
func Verify(ctx context.Context, path string) error { return verifyFile(ctx, path, "mode=ro") }

func verifyFile(ctx context.Context, path string, mode ...string) error {
	if _, err := os.Stat(path); err != nil {
		return trouble("check the bench", err)
	}
	db, err := sql.Open("sqlite", dsn(path, append(mode, "busy_timeout(5000)", "trusted_schema(0)")...))
	if err != nil {
		return err
	}
	defer db.Close()
	return trouble("check the bench", verify(ctx, db))
}

func verify(ctx context.Context, db *sql.DB) error {
	version, err := check(ctx, db, migrations())
	if err != nil {
		return err
	}
	if version == 0 {
		return &Trouble{Kind: NotOurs, Err: errors.New("empty file")}
	}
	return whole(ctx, db)
}

// Restore checks the backup, and puts a copy of it at path, without sessions and
// pairings. What stood there is moved aside to the new name aside. It refuses
// while path is open anywhere.
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

// Look runs f on a file that is no open bench, where it is one of today's schema;
// one of an earlier schema is looked at when it is brought up to date.
func Look(ctx context.Context, path string, f func(*sql.Tx) error) error {
	if _, err := os.Stat(path); err != nil {
		return trouble("look into the bench", err)
	}
	db, err := sql.Open("sqlite", dsn(path, "mode=ro", "busy_timeout(5000)", "trusted_schema(0)"))
	if err != nil {
		return err
	}
	defer db.Close()
	version, err := check(ctx, db, migrations())
	if err != nil || version < SchemaVersion() {
		return trouble("look into the bench", err)
	}
	return inTx(ctx, db, &sql.TxOptions{ReadOnly: true}, f)
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
