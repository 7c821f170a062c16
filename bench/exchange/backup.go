package exchange

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

// Copy says what a backup or a restore holds.
type Copy struct {
	Path     string
	Bytes    int64
	Trials   int
	Readings int
	Last     time.Time // newest reading
	Aside    string    // where the bench that stood there before was moved; empty: there was none
}

// Backup writes a copy of the bench to a new file at path while it is in use,
// and checks the copy. Owner.
func (b *Operations) Backup(ctx context.Context, by knownwater.Who, path string) (Copy, error) {
	if err := by.MustOwn(); err != nil {
		return Copy{}, err
	}
	return BackupFile(ctx, b.store.Path(), path)
}

// BackupFile is Backup for a bench that this process has not open; another one
// may have.
func BackupFile(ctx context.Context, bench, path string) (Copy, error) {
	err := sqlite.Backup(ctx, bench, path)
	if errors.Is(err, fs.ErrExist) {
		return Copy{}, knownwater.Refuse(knownwater.InUse, "%s is there already: a backup never overwrites a file", path)
	}
	if err != nil {
		return Copy{}, store.Refused(err)
	}
	return summary(ctx, path)
}

// Restore checks a backup, what its tables cannot check too, and puts a copy of it
// at path. What stood at path is kept beside it under a name with the time in it.
// Refused while the bench at path is open.
func Restore(ctx context.Context, backup, path string, now time.Time, from Sources) (Copy, error) {
	err := sqlite.Look(ctx, backup, func(t *sql.Tx) error {
		for _, check := range from.KeptFaults {
			if table, err := check(store.Of(ctx, t)); err != nil {
				return knownwater.Fault{File: backup, Column: table, Found: err.Error(), Want: "descriptions as this program writes them"}
			}
		}
		return nil
	})
	if err != nil {
		return Copy{}, store.Refused(err)
	}
	aside := fmt.Sprintf("%s.before-restore-%s", path, now.UTC().Format("20060102-150405"))
	if err := sqlite.Restore(ctx, backup, path, aside); err != nil {
		return Copy{}, store.Refused(err)
	}
	c, err := summary(ctx, path)
	if _, statErr := os.Stat(aside); statErr == nil {
		c.Aside = aside
	}
	return c, err
}

func summary(ctx context.Context, path string) (c Copy, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return Copy{}, err
	}
	c = Copy{Path: path, Bytes: info.Size()}
	err = sqlite.Peek(ctx, path, copySums, &c.Trials, &c.Readings, store.Time(&c.Last))
	return c, store.Refused(err)
}
