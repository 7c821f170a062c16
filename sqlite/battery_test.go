package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// doctored are files that nobody may be given for a bench: damaged, foreign,
// newer, older without what an older one has, and altered by another program.
// Each begins as a whole bench.
var doctored = []struct {
	name string
	make func(t *testing.T, path string)
	want Kind
}{
	{"empty", bytesOf(func([]byte) []byte { return nil }), NotOurs},
	{"a line of text", bytesOf(func([]byte) []byte { return []byte("method,level,reading\n") }), NotOurs},
	{"zeros", bytesOf(func(b []byte) []byte { return make([]byte, len(b)) }), NotOurs},
	{"another program's database", bytesOf(func(b []byte) []byte { return number(b, 68, 0x42) }), NotOurs},
	{"no mark", bytesOf(func(b []byte) []byte { return number(b, 68, 0) }), NotOurs},
	{"SQLite's word misspelt", bytesOf(func(b []byte) []byte { b[3] = 'x'; return b }), NotOurs},
	{"a page size that cannot be", bytesOf(func(b []byte) []byte { b[16], b[17] = 0, 3; return b }), NotOurs},
	{"a newer format of SQLite", bytesOf(func(b []byte) []byte { b[18], b[19] = 9, 9; return b }), NotOurs},
	{"cut to a page", bytesOf(func(b []byte) []byte { return b[:4096] }), Damaged},
	{"cut in the middle of a page", bytesOf(func(b []byte) []byte { return b[:len(b)-1000] }), Damaged},
	{"cut to half", bytesOf(func(b []byte) []byte { return b[:len(b)/2/4096*4096] }), Damaged},
	{"the last third of zeros", bytesOf(func(b []byte) []byte { clear(b[len(b)*2/3:]); return b }), Damaged},
	{"a page's head of zeros", bytesOf(func(b []byte) []byte { return headless(b) }), Damaged},
	{"a letter that the index has otherwise", bytesOf(func(b []byte) []byte { b[bytes.Index(b, []byte("person number 250"))] = 'q'; return b }), Damaged},
	{"a page that points at itself", bytesOf(func(b []byte) []byte { return selfish(b) }), Damaged},

	{"a newer version", text("pragma user_version = 999"), Newer},
	{"the next version", text(fmt.Sprint("pragma user_version = ", SchemaVersion()+1)), Newer},
	{"a negative version", text("pragma user_version = -1"), Altered},
	{"the most negative version", text("pragma user_version = -2147483648"), Altered},
	{"version 0 with tables", text("pragma user_version = 0"), Altered},
	{"an older version with newer tables", text("pragma user_version = 3"), Altered},
	{"one that says to be the version before", text(fmt.Sprint("pragma user_version = ", SchemaVersion()-1)), Altered},

	{"a trigger missing: readings can be changed", text("drop trigger reading_stays"), Altered},
	{"a trigger missing: readings can be deleted", text("drop trigger reading_kept_for_good"), Altered},
	{"a trigger missing: the book of events can be changed", text("drop trigger event_stays"), Altered},
	{"a trigger that does nothing", text("drop trigger event_kept; create trigger event_kept before delete on event begin select 1; end"), Altered},
	{"a trigger for another time", text("drop trigger reading_stays; create trigger reading_stays before update of id on reading begin select raise(abort, 'readings are append-only: correct one with a new one'); end"), Altered},
	{"a trigger put in", text("create trigger helper after insert on person begin delete from need; end"), Altered},
	{"a trigger that lets somebody in", text("create trigger helper after insert on event begin update secret set value = 'x'; end"), Altered},
	{"a view in a table's place", text("drop table attempt; create view attempt as select 1 as id, '' as from_addr, '' as at"), Altered},
	{"a table missing", text("drop table attempt"), Altered},
	{"a table put in", text("create table extra (x text) strict"), Altered},
	{"a table that a module serves", text("create virtual table hidden using fts5(x)"), Altered},
	{"an index missing", text("drop index reading_first"), Altered},
	{"an index of another column", text("drop index attempt_at; create index attempt_at on attempt (from_addr)"), Altered},
	{"a column more", text("alter table person add column note text"), Altered},
	{"a rule taken out of a table", text("pragma writable_schema = 1; update sqlite_schema set sql = replace(sql, ' check (withdrawn in (0, 1))', '') where name = 'reading'"), Altered},
	{"a trigger changed past its table", text("pragma writable_schema = 1; update sqlite_schema set sql = replace(sql, 'before update', 'before delete') where name = 'reading_stays'"), Altered},
	{"a table that is not strict", text("pragma writable_schema = 1; update sqlite_schema set sql = replace(sql, ') strict', ')') where name = 'person'"), Altered},
	{"figures of an optimizer", text("analyze"), Altered},

	{"a row that names none", text("pragma foreign_keys = 0; insert into lot (method_id, code, opened_on, expires_on, chart_edition, tests, note, retired, made_at, made_by, made_from) values (77, 'x', '', '', '', 0, '', 0, '', '', '')"), Damaged},
	{"a row against a rule", text("pragma ignore_check_constraints = 1; insert into person (name, role, alias, gone, made_at, made_by, made_from) values ('', 'king', '', 7, '', '', '')"), Damaged},
}

// bytesOf changes the file's bytes.
func bytesOf(change func([]byte) []byte) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		b, err := os.ReadFile(path)
		if err == nil {
			err = os.WriteFile(path, change(b), 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// text runs statements on the file with another program's freedom.
func text(statements string) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		db, err := sql.Open("sqlite", dsn(path))
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		db.SetMaxOpenConns(1)
		if _, err := db.Exec(statements); err != nil {
			t.Fatal(err)
		}
	}
}

func number(b []byte, at int, v uint32) []byte {
	binary.BigEndian.PutUint32(b[at:], v)
	return b
}

// headless clears the head of the last leaf of a table.
func headless(b []byte) []byte {
	for at := len(b) - 4096; at > 4096; at -= 4096 {
		if b[at] == 0x0d {
			clear(b[at : at+64])
			break
		}
	}
	return b
}

// selfish lets the right-most child of an inner page be that page.
func selfish(b []byte) []byte {
	for at := 4096; at < len(b); at += 4096 {
		if b[at] == 0x05 {
			return number(b, at+8, uint32(at/4096+1))
		}
	}
	panic("no inner page")
}

// furnished is a whole bench with 500 persons, as one file.
func furnished(t *testing.T) []byte {
	db := mustOpen(t, newPath(t))
	for i := range 500 {
		if err := insert(t, db, addPerson, fmt.Sprint("person number ", i, strings.Repeat(".", 40))); err != nil {
			t.Fatal(err)
		}
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	if err := Backup(ctx, db.Path(), copied); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(copied)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestBattery: every doctored file is refused by restore, by a check and by
// opening it, in the right words, without a panic, with nothing replaced and
// nothing left behind; the whole one is taken by all three.
func TestBattery(t *testing.T) {
	whole := furnished(t)
	for _, d := range doctored {
		t.Run(d.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			bad, bench := filepath.Join(dir, "bad.db"), filepath.Join(dir, "bench.db")
			for _, p := range []string{bad, bench} {
				if err := os.WriteFile(p, whole, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			d.make(t, bad)
			before, _ := os.ReadFile(bad)
			wantTrouble(t, Restore(ctx, bad, bench, bench+".aside"), d.want)
			if d.name != "a row against a rule" { // seen only where SQLite could write
				wantTrouble(t, Verify(ctx, bad), d.want)
			}
			if now, err := os.ReadFile(bench); err != nil || !bytes.Equal(now, whole) {
				t.Errorf("the bench was touched: %v", err)
			}
			left, _ := filepath.Glob(bench + "?*")
			for _, l := range left {
				if l != bench+".lock" {
					t.Errorf("left behind: %s", l)
				}
			}
			if db, err := Open(context.Background(), bad); d.name == "empty" {
				if err != nil { // a new bench is made in an empty file
					t.Error(err)
				} else {
					db.Close()
				}
			} else {
				if err == nil {
					db.Close()
				}
				wantTrouble(t, err, d.want)
				if now, _ := os.ReadFile(bad); !bytes.Equal(now[:min(16, len(now))], before[:min(16, len(before))]) || len(now) != len(before) {
					t.Error("the refused file was changed by opening it")
				}
			}
			restored := mustOpen(t, bench)
			if n := count(t, restored, "select count(*) from person"); n != 500 {
				t.Errorf("%d persons", n)
			}
		})
	}
	t.Logf("%d files", len(doctored))
}

// TestCopiesLetNobodyIn: a backup and a restored copy carry no session, no
// pairing, not even in their free pages.
func TestCopiesLetNobodyIn(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	const token = "cafe0123cafe0123cafe0123cafe0123"
	for _, s := range []string{
		"insert into session (hash, data, expires_at, person_id, name, role, device, since) values ('" + token + "', x'01', '9999-01-01T00:00:00.000Z', null, 'owner', 'owner', 'x', '')",
		"insert into pairing (hash, person_id, expires_at, used_at) values ('" + token + "', 1, '9999-01-01T00:00:00.000Z', '')",
		"insert into attempt (from_addr, at) values ('" + token + "', '')",
	} {
		if err := insert(t, db, addPerson, fmt.Sprint("Ines ", len(s))); err != nil {
			t.Fatal(err)
		}
		if err := insert(t, db, s); err != nil {
			t.Fatal(err)
		}
	}
	backup := filepath.Join(t.TempDir(), "backup.db")
	if err := Backup(ctx, path, backup); err != nil {
		t.Fatal(err)
	}
	db.Close()
	// A copy by other means has them; restoring it takes them out.
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(raw, []byte(token)) {
		t.Fatal("the bench has no token to lose")
	}
	plain := filepath.Join(t.TempDir(), "plain.db")
	if err := os.WriteFile(plain, raw, 0o600); err != nil {
		t.Fatal(err)
	}
	to := newPath(t)
	if err := Restore(ctx, plain, to, to+".aside"); err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{backup, to} {
		if b, err := os.ReadFile(p); err != nil || bytes.Contains(b, []byte(token)) {
			t.Errorf("%s carries a token (%v)", p, err)
		}
	}
}

// TestHardLink: a second name of a bench is no second bench.
func TestHardLink(t *testing.T) {
	path := newPath(t)
	db := mustOpen(t, path)
	other := filepath.Join(t.TempDir(), "other.db")
	if err := os.Link(path, other); err != nil {
		t.Skip(err)
	}
	_, err := Open(ctx, other)
	wantTrouble(t, err, Linked)
	db.Close()
}
