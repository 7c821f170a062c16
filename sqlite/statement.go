package sqlite

import (
	"context"
	"database/sql"
)

// statements are all that were declared with SQL, for a test that prepares each.
var statements []string

// SQL declares a statement, at package level beside the operation that uses it.
func SQL(text string) string {
	statements = append(statements, text)
	return text
}

// Statements are all declared statements.
func Statements() []string { return append([]string(nil), statements...) }

// All runs a query and scans every row.
func All[T any](ctx context.Context, tx *sql.Tx, query string, scan func(func(...any) error) (T, error), args ...any) ([]T, error) {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		v, err := scan(rows.Scan)
		if err != nil {
			return nil, err
		}
		all = append(all, v)
	}
	return all, rows.Err()
}

// One runs a query and scans its first row; sql.ErrNoRows where there is none.
func One[T any](ctx context.Context, tx *sql.Tx, query string, scan func(func(...any) error) (T, error), args ...any) (T, error) {
	rows, err := All(ctx, tx, query, scan, args...)
	if err == nil && len(rows) == 0 {
		err = sql.ErrNoRows
	}
	if err != nil {
		var zero T
		return zero, err
	}
	return rows[0], nil
}
