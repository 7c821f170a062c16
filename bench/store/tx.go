package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"knownwater"
	"knownwater/sqlite"
)

// Tx is one transaction with its context and the time it is stamped with.
type Tx struct {
	sql      *sql.Tx
	Ctx      context.Context
	Now      time.Time
	prepared map[string]*sql.Stmt // nil: statements are not kept
}

// Of is a transaction on a file that is no open bench, such as one that is being
// imported.
func Of(ctx context.Context, t *sql.Tx) Tx { return Tx{sql: t, Ctx: ctx} }

// Many is the same transaction for writing many rows: it prepares each statement
// once.
func (t Tx) Many() Tx {
	t.prepared = map[string]*sql.Stmt{}
	return t
}

// Exec runs a statement.
func (t Tx) Exec(query string, args ...any) error {
	_, err := t.run(query, args...)
	return err
}

// Insert runs an insert and answers the new row's id.
func (t Tx) Insert(query string, args ...any) (int64, error) {
	r, err := t.run(query, args...)
	if err != nil {
		return 0, err
	}
	return r.LastInsertId()
}

// Change runs a statement and answers how many rows it changed.
func (t Tx) Change(query string, args ...any) (int64, error) {
	r, err := t.run(query, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

func (t Tx) run(query string, args ...any) (sql.Result, error) {
	if t.prepared == nil {
		return t.sql.ExecContext(t.Ctx, query, args...)
	}
	st := t.prepared[query]
	if st == nil {
		var err error
		if st, err = t.sql.PrepareContext(t.Ctx, query); err != nil { // closed with the transaction
			return nil, err
		}
		t.prepared[query] = st
	}
	return st.ExecContext(t.Ctx, args...)
}

// Rows runs a query whose rows are too many to hold at once.
func (t Tx) Rows(query string, args ...any) (*sql.Rows, error) {
	return t.sql.QueryContext(t.Ctx, query, args...)
}

// One scans the first row of a query; NotFound, in the words of what, where
// there is none.
func One[T any](t Tx, what, query string, scan func(func(...any) error) (T, error), args ...any) (T, error) {
	v, err := sqlite.One(t.Ctx, t.sql, query, scan, args...)
	if errors.Is(err, sql.ErrNoRows) {
		err = knownwater.Refuse(knownwater.NotFound, "there is no such %s", what)
	}
	return v, err
}

// All scans every row of a query.
func All[T any](t Tx, query string, scan func(func(...any) error) (T, error), args ...any) ([]T, error) {
	return sqlite.All(t.Ctx, t.sql, query, scan, args...)
}

// Value scans one value of one row.
func Value[T any](scan func(...any) error) (v T, err error) {
	err = scan(&v)
	return v, err
}

var insertEvent = sqlite.SQL(`insert into event (at, by_name, by_from, trial_id, what, why) values (?, ?, ?, nullif(?, 0), ?, ?)`)

// Note writes a line into the book of events; trial 0 is none.
func (t Tx) Note(by knownwater.Who, trial int64, what, why string) error {
	return t.Exec(insertEvent, TimeText(t.Now), by.Name, by.Device, trial, what, why)
}

// Stamp is when, who and from where, in the order of the columns.
func (t Tx) Stamp(by knownwater.Who) (at, name, device string) {
	return TimeText(t.Now), by.Name, by.Device
}
