// Package sqlite keeps a bench in one SQLite file: it opens and locks the file,
// brings its schema up to date, runs transactions and copies the file while it
// is in use. What is append-only is held append-only by triggers in the schema.
// It does no arithmetic and knows no operation; the statements stand beside the
// operations in package bench, declared with [SQL].
package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"runtime"

	_ "modernc.org/sqlite" // the driver
)

// DB is an open bench file: one connection that writes, several that read.
type DB struct {
	path  string
	lock  *os.File
	write *sql.DB
	read  *sql.DB
}

// applicationID marks a file as a bench ("knwt").
const applicationID = 0x6b6e7774

// Open opens the bench file at path, makes it where there is none, and brings an
// older one up to date (a copy of it is kept beside it first). Only one process
// has a file open: a lock on path + ".lock" sees to it, and goes when the
// process goes. Troubles that a person can do something about are of type
// [*Trouble].
func Open(ctx context.Context, path string) (*DB, error) {
	return open(ctx, path, migrations())
}

func open(ctx context.Context, path string, steps []migration) (*DB, error) {
	path, err := realPath(path)
	if err != nil {
		return nil, trouble("open the bench", err)
	}
	if namesOf(path) > 1 { // each name has a lock of its own
		return nil, &Trouble{Kind: Linked, Err: errors.New("hard link")}
	}
	lock, err := lockFile(path + ".lock")
	if err != nil {
		return nil, err
	}
	db := &DB{path: path, lock: lock}
	if err := db.connect(ctx, steps); err != nil {
		return nil, errors.Join(trouble("open the bench", err), db.Close())
	}
	return db, nil
}

// realPath follows links, so that one file has one lock whatever it is called.
func realPath(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	real, err := filepath.EvalSymlinks(path)
	if errors.Is(err, os.ErrNotExist) {
		dir, err := filepath.EvalSymlinks(filepath.Dir(path))
		return filepath.Join(dir, filepath.Base(path)), err
	}
	return real, err
}

func (db *DB) connect(ctx context.Context, steps []migration) (err error) {
	if err := createPrivate(db.path); err != nil {
		return err
	}
	// Without recursive triggers an "insert or replace" would delete rows past
	// the triggers that forbid it.
	db.write, err = sql.Open("sqlite", dsn(db.path, "_txlock=immediate", "busy_timeout(5000)",
		"foreign_keys(1)", "recursive_triggers(1)", "journal_mode(WAL)", "synchronous(FULL)"))
	if err != nil {
		return err
	}
	db.write.SetMaxOpenConns(1)
	if err := migrate(ctx, db.write, db.path, steps); err != nil {
		return err
	}
	db.read, err = sql.Open("sqlite", dsn(db.path, "mode=ro", "busy_timeout(5000)", "query_only(1)"))
	if err != nil {
		return err
	}
	db.read.SetMaxOpenConns(max(4, runtime.NumCPU()))
	return db.read.PingContext(ctx)
}

// createPrivate makes a missing file readable by its owner only: it holds keys,
// names and the passphrase's hash.
func createPrivate(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// dsn writes a connection string. Each option is name=value, or a pragma.
func dsn(path string, options ...string) string {
	q := url.Values{}
	for _, o := range options {
		if name, value, ok := cut(o); ok {
			q.Add(name, value)
		} else {
			q.Add("_pragma", o)
		}
	}
	u := url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(path), RawQuery: q.Encode()}
	return u.String()
}

func cut(option string) (name, value string, ok bool) {
	for i, c := range option {
		switch c {
		case '=':
			return option[:i], option[i+1:], true
		case '(':
			return "", "", false
		}
	}
	return "", "", false
}

// Path is where the file really stands.
func (db *DB) Path() string { return db.path }

// Close lets the file go.
func (db *DB) Close() error {
	var errs []error
	if db.read != nil {
		errs = append(errs, db.read.Close())
	}
	if db.write != nil {
		errs = append(errs, db.write.Close())
	}
	return errors.Join(append(errs, db.lock.Close())...)
}

// Write runs f in one transaction that is on the disk when Write returns nil,
// and gone without a trace when f or the disk fails.
func (db *DB) Write(ctx context.Context, f func(*sql.Tx) error) error {
	return inTx(ctx, db.write, nil, f)
}

// Read runs f on one unchanging view of the file.
func (db *DB) Read(ctx context.Context, f func(*sql.Tx) error) error {
	return inTx(ctx, db.read, &sql.TxOptions{ReadOnly: true}, f)
}

func inTx(ctx context.Context, pool *sql.DB, o *sql.TxOptions, f func(*sql.Tx) error) error {
	tx, err := pool.BeginTx(ctx, o)
	if err != nil {
		return trouble("begin", err)
	}
	defer tx.Rollback() // does nothing after Commit
	if err := f(tx); err != nil {
		return trouble("", err)
	}
	return trouble("commit", tx.Commit())
}

// Version is the schema's version in this file.
func (db *DB) Version(ctx context.Context) (int, error) {
	return userVersion(ctx, db.read)
}

// wrap adds what was being done, where that is said.
func wrap(doing string, err error) error {
	if doing == "" {
		return err
	}
	return fmt.Errorf("%s: %w", doing, err)
}
