package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
)

//go:embed migrations/*.sql migrations/earlier/*.sql
var files embed.FS

// migration is one step of the schema, run once and never changed after a
// release. Step i brings a file from version i to i + 1.
type migration struct{ name, sql string }

func migrations() []migration {
	names, err := fs.Glob(files, "migrations/*.sql") // in order: the names begin with their number
	if err != nil {
		panic(err) // the pattern is a constant
	}
	var steps []migration
	for _, n := range names {
		text, err := files.ReadFile(n)
		if err != nil {
			panic(err) // embedded
		}
		steps = append(steps, migration{n, string(text)})
	}
	return steps
}

// SchemaVersion is the version that this program brings files to.
func SchemaVersion() int { return len(migrations()) }

// migrate brings the file to the last step, all in one transaction. It refuses
// a newer file, somebody else's, and one that was altered or is damaged, before
// it changes anything.
func migrate(ctx context.Context, db *sql.DB, path string, steps []migration) error {
	have, err := check(ctx, db, steps)
	if err != nil {
		return err
	}
	if have > 0 && (have < len(steps) || small(path)) {
		if err := whole(ctx, db); err != nil {
			return err
		}
	}
	if have == len(steps) {
		return nil
	}
	if have > 0 {
		if err := copyBefore(ctx, db, path, have); err != nil {
			return err
		}
	}
	schema, err := schemaOf(ctx, db)
	if err != nil {
		return err
	}
	old := false
	if have > 0 {
		want, err := schemaAfter(steps[:have])
		if err != nil {
			return err
		}
		old = !maps.Equal(schema, want) // check let only the early form through
	}
	return inTx(ctx, db, nil, func(tx *sql.Tx) error {
		if old {
			if err := mend(ctx, tx, steps[:have]); err != nil {
				return fmt.Errorf("mend a file of schema version %d: %w", have, err)
			}
		}
		for _, s := range steps[have:] {
			if _, err := tx.ExecContext(ctx, s.sql); err != nil {
				return fmt.Errorf("migration %s: %w", s.name, err)
			}
		}
		_, err := tx.ExecContext(ctx, fmt.Sprintf("pragma application_id = %d; pragma user_version = %d", applicationID, len(steps)))
		return err
	})
}

func userVersion(ctx context.Context, db *sql.DB) (v int, err error) {
	err = db.QueryRowContext(ctx, "pragma user_version").Scan(&v)
	return v, err
}

// copyBefore keeps the file as it was before its schema changes. A copy that is
// there already is from an upgrade that did not come to its end: it is as good.
func copyBefore(ctx context.Context, db *sql.DB, path string, version int) error {
	name := fmt.Sprintf("%s.before-upgrade-from-%d", path, version)
	if _, err := os.Stat(name); err == nil {
		return nil
	} else if !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	err := createPrivate(name)
	if err == nil {
		_, err = db.ExecContext(ctx, "vacuum into ?", name)
	}
	if err == nil {
		err = shutOut(ctx, name)
	}
	if err != nil {
		os.Remove(name)
		return fmt.Errorf("copy the bench before upgrading it: %w", err)
	}
	return nil
}
