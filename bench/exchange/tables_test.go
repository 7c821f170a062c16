package exchange_test

import (
	"context"
	"database/sql"
	"slices"
	"sort"
	"strings"
	"testing"

	"knownwater/bench/exchange"
	"knownwater/bench/store"
	"knownwater/internal/benchtest"
	"knownwater/sqlite"
)

// TestTablesAreComplete holds the list of exported tables, and what of them may
// be nothing or has a fraction, against the schema.
func TestTablesAreComplete(t *testing.T) {
	s := benchtest.New(t)
	listed := map[string]exchange.Table{}
	for _, tab := range exchange.Tables {
		listed[tab.Name()] = tab
	}
	err := func() error {
		q, err := benchtest.SQL(t, s.Path).Begin()
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
			if !ok && !slices.Contains(exchange.NotExported, name) {
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

func checkColumns(t *testing.T, q *sql.Tx, tab exchange.Table) {
	t.Helper()
	type column struct {
		name, kind string
		must, key  int
	}
	cols, err := sqlite.All(context.Background(), q, "select name, type, \"notnull\", pk from pragma_table_info('"+tab.Name()+"')",
		func(scan func(...any) error) (c column, err error) {
			return c, scan(&c.name, &c.kind, &c.must, &c.key)
		})
	if err != nil {
		t.Fatal(err)
	}
	var have []string
	for _, c := range cols {
		if c.name == "arriving" { // what is marked so is not exported at all
			continue
		}
		c.kind = strings.ToUpper(c.kind)
		have = append(have, c.name)
		if optional := c.must == 0 && c.key == 0; optional != exchange.Nullable[tab.Name()+"."+c.name] {
			t.Errorf("%s.%s: optional %t, listed otherwise", tab.Name(), c.name, optional)
		}
		if (c.kind == "REAL") != exchange.RealColumn[c.name] {
			t.Errorf("%s.%s is %s", tab.Name(), c.name, c.kind)
		}
	}
	want := tab.All()
	sort.Strings(have)
	want = append([]string(nil), want...)
	sort.Strings(want)
	if strings.Join(have, " ") != strings.Join(want, " ") {
		t.Errorf("%s has columns %v, exported are %v", tab.Name(), have, want)
	}
}
