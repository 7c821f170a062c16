package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"sync"
)

// check answers the file's version, 0 for an empty file, after it held the file's
// tables, indexes and triggers against those that the steps make up to that
// version: what is append-only is so by triggers, and a file that lacks one, or
// has one more, is not what this program made.
func check(ctx context.Context, db *sql.DB, steps []migration) (int, error) {
	var id, parts int
	version, err := userVersion(ctx, db)
	if err != nil {
		return 0, err
	}
	row := db.QueryRowContext(ctx, "select (select application_id from pragma_application_id), (select count(*) from sqlite_schema)")
	if err := row.Scan(&id, &parts); err != nil {
		return 0, err
	}
	switch {
	case id != applicationID && (id != 0 || version != 0 || parts != 0):
		return 0, &Trouble{Kind: NotOurs, Err: fmt.Errorf("application_id %#x", id)}
	case version > len(steps):
		return 0, &Trouble{Kind: Newer, Err: fmt.Errorf("schema version %d, this program knows %d", version, len(steps))}
	case version < 0, version == 0 && parts > 0:
		return 0, &Trouble{Kind: Altered, Err: fmt.Errorf("schema version %d with %d parts", version, parts)}
	case version == 0:
		return 0, nil
	}
	want, err := schemaAfter(steps[:version])
	if err != nil {
		return 0, err
	}
	have, err := schemaOf(ctx, db)
	if err != nil {
		return 0, err
	}
	if early, err := isEarly(have, steps[:version]); err != nil || early {
		return version, err
	}
	for part, text := range want {
		if have[part] != text {
			return 0, &Trouble{Kind: Altered, Err: fmt.Errorf("the %s %s of version %d is missing or another", part.kind, part.name, version)}
		}
	}
	for part := range have {
		if _, ours := want[part]; !ours {
			return 0, &Trouble{Kind: Altered, Err: fmt.Errorf("the %s %s was put in", part.kind, part.name)}
		}
	}
	return version, nil
}

// part is one row of a schema. Automatic indexes have no text.
type part struct{ kind, name, table string }

func schemaOf(ctx context.Context, db *sql.DB) (map[part]string, error) {
	rows, err := db.QueryContext(ctx, "select type, name, tbl_name, coalesce(sql, '') from sqlite_schema")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	all := map[part]string{}
	for rows.Next() {
		var p part
		var text string
		if err := rows.Scan(&p.kind, &p.name, &p.table, &text); err != nil {
			return nil, err
		}
		all[p] = text
	}
	return all, rows.Err()
}

var (
	schemasMu sync.Mutex
	schemas   = map[string]map[part]string{} // by the steps
)

// schemaAfter is the schema that the steps make, by making it in memory.
func schemaAfter(steps []migration) (map[part]string, error) {
	schemasMu.Lock()
	defer schemasMu.Unlock()
	key := fmt.Sprint(steps)
	if s, made := schemas[key]; made {
		return s, nil
	}
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer db.Close()
	db.SetMaxOpenConns(1) // each connection has a memory of its own
	for _, s := range steps {
		if _, err := db.Exec(s.sql); err != nil {
			return nil, fmt.Errorf("migration %s: %w", s.name, err)
		}
	}
	made, err := schemaOf(context.Background(), db)
	if err == nil {
		schemas[key] = made
	}
	return made, err
}

// whole looks at every page, every index, every rule of a row and every link
// between rows.
func whole(ctx context.Context, db *sql.DB) error {
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

// wholeAtOpening is up to which size a file is looked at whole whenever it is
// opened: that takes a fraction of a second. A larger one is looked at whole
// before its schema changes, and when it is copied or restored.
const wholeAtOpening = 64 << 20

func small(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Size() <= wholeAtOpening
}
