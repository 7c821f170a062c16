package sqlite

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// schema is the text of everything in the file, to compare two files.
func schema(t *testing.T, db *DB) string {
	t.Helper()
	var text string
	err := db.Read(ctx, func(tx *sql.Tx) error {
		return tx.QueryRow("select group_concat(sql, char(10)) from (select sql from sqlite_schema where sql is not null order by type, name)").Scan(&text)
	})
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// TestEveryOldVersionUpgrades makes a file of each older version, puts something
// in, and opens it with today's program.
func TestEveryOldVersionUpgrades(t *testing.T) {
	all := migrations()
	fresh := mustOpen(t, newPath(t))
	for v := 1; v < len(all); v++ {
		t.Run(fmt.Sprint("from ", v), func(t *testing.T) {
			path := newPath(t)
			old, err := open(ctx, path, all[:v])
			if err != nil {
				t.Fatal(err)
			}
			if err := insert(t, old, addPerson, "Ines"); err != nil {
				t.Fatal(err)
			}
			old.Close()
			db := mustOpen(t, path)
			if got, err := db.Version(ctx); err != nil || got != len(all) {
				t.Errorf("version %d, %v; want %d", got, err, len(all))
			}
			if n := count(t, db, "select count(*) from person where name = 'Ines'"); n != 1 {
				t.Error("what was in the old file is gone")
			}
			if schema(t, db) != schema(t, fresh) {
				t.Error("an upgraded file has another schema than a new one")
			}
			if err := Verify(ctx, path); err != nil {
				t.Error(err)
			}
			if err := Verify(ctx, fmt.Sprintf("%s.before-upgrade-from-%d", path, v)); err != nil {
				t.Errorf("the copy from before the upgrade: %v", err)
			}
		})
	}
}

func TestNewerFileIsRefused(t *testing.T) {
	path := newPath(t)
	newer, err := open(ctx, path, append(migrations(), migration{"next", "create table next_idea (x text) strict"}))
	if err != nil {
		t.Fatal(err)
	}
	if err := insert(t, newer, addPerson, "Ines"); err != nil {
		t.Fatal(err)
	}
	newer.Close()
	before, _ := os.ReadFile(path)
	_, err = Open(ctx, path)
	wantTrouble(t, err, Newer)
	wantTrouble(t, Verify(ctx, path), Newer)
	after, _ := os.ReadFile(path)
	if string(before) != string(after) {
		t.Error("the refused file was changed")
	}
}

func TestBrokenMigrationRollsBackWhole(t *testing.T) {
	path := newPath(t)
	mustOpen(t, path).Close()
	steps := append(migrations(),
		migration{"good", "create table good (x text) strict"},
		migration{"bad", "create table bad (x text) strict; insert into no_such_table values (1)"})
	if _, err := open(ctx, path, steps); err == nil {
		t.Fatal("the broken migration went through")
	}
	db := mustOpen(t, path) // today's program still opens it
	if n := count(t, db, "select count(*) from sqlite_schema where name in ('good', 'bad')"); n != 0 {
		t.Errorf("%d tables are left of the broken migration", n)
	}
	if copies, _ := filepath.Glob(path + ".before-upgrade-*"); len(copies) != 1 {
		t.Errorf("copies from before the upgrade: %v", copies)
	}
}
