package bench

import (
	"context"
	"database/sql"
	"sort"
	"strings"
	"testing"

	"knownwater/bench/store"
	"knownwater/sqlite"
)

// TestEveryStatementPrepares prepares every statement against the schema.
func TestEveryStatementPrepares(t *testing.T) {
	s := newShed(t)
	n := 0
	for _, q := range sqlite.Statements() {
		st, err := raw(t, s.path).Prepare(q)
		if err != nil {
			t.Errorf("%v in:\n%s", err, q)
			continue
		}
		st.Close()
		n++
	}
	if n < 60 {
		t.Errorf("%d statements prepared", n)
	}
}

// TestTablesAreComplete holds the list of exported tables, and what of them may
// be nothing or has a fraction, against the schema.
func TestTablesAreComplete(t *testing.T) {
	s := newShed(t)
	listed := map[string]table{}
	for _, tab := range tables {
		listed[tab.name] = tab
	}
	err := func() error {
		q, err := raw(t, s.path).Begin()
		if err != nil {
			return err
		}
		defer q.Rollback()
		names, err := sqlite.All(ctx, q, "select name from sqlite_schema where type = 'table' and name not like 'sqlite%'", store.Value[string])
		if err != nil {
			return err
		}
		for _, name := range names {
			tab, ok := listed[name]
			if !ok && !set(strings.Join(notExported, " "))[name] {
				t.Errorf("table %s is neither exported nor left out on purpose", name)
			}
			if ok {
				checkColumns(t, q, tab)
			}
			delete(listed, name)
		}
		return nil
	}()
	if err != nil {
		t.Fatal(err)
	}
	for name := range listed {
		t.Errorf("there is no table %s", name)
	}
}

func checkColumns(t *testing.T, q *sql.Tx, tab table) {
	t.Helper()
	type column struct {
		name, kind string
		must, key  int
	}
	cols, err := sqlite.All(context.Background(), q, "select name, type, \"notnull\", pk from pragma_table_info('"+tab.name+"')",
		func(scan func(...any) error) (c column, err error) {
			return c, scan(&c.name, &c.kind, &c.must, &c.key)
		})
	if err != nil {
		t.Fatal(err)
	}
	var have []string
	for _, c := range cols {
		c.kind = strings.ToUpper(c.kind)
		have = append(have, c.name)
		if optional := c.must == 0 && c.key == 0; optional != nullable[tab.name+"."+c.name] {
			t.Errorf("%s.%s: optional %t, listed otherwise", tab.name, c.name, optional)
		}
		if (c.kind == "REAL") != realColumn[c.name] {
			t.Errorf("%s.%s is %s", tab.name, c.name, c.kind)
		}
	}
	want := tab.all()
	sort.Strings(have)
	want = append([]string(nil), want...)
	sort.Strings(want)
	if strings.Join(have, " ") != strings.Join(want, " ") {
		t.Errorf("%s has columns %v, exported are %v", tab.name, have, want)
	}
}
