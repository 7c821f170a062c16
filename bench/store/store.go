// Package store is what every subject of the bench stands on: transactions with
// their time and their book of events, rows into values, texts and times as they
// are kept, things kept in versions. It knows no operation.
package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"knownwater"
	"knownwater/sqlite"
)

// Store is an open bench file with its clock. Its methods may be called from many
// goroutines at once.
type Store struct {
	db  *sqlite.DB
	now func() time.Time
}

// Open opens the bench file at path and makes it if there is none. now is the
// clock; nil: the real one. Trouble with the file is a knownwater.Refusal.
func Open(ctx context.Context, path string, now func() time.Time) (*Store, error) {
	db, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, Refused(err)
	}
	if now == nil {
		now = time.Now
	}
	return &Store{db: db, now: now}, nil
}

// Close lets the file go.
func (s *Store) Close() error { return s.db.Close() }

// Path is the file that the bench stands in.
func (s *Store) Path() string { return s.db.Path() }

// Clock is the time as it is kept.
func (s *Store) Clock() time.Time { return s.now().UTC().Truncate(time.Millisecond) }

// Write runs f in one transaction; what f did is on the disk when it returns nil.
// Refused where the session that ctx was let in by has ended meanwhile.
func (s *Store) Write(ctx context.Context, f func(Tx) error) error {
	now := s.Clock()
	return Refused(s.db.Write(ctx, func(t *sql.Tx) error {
		write := Tx{sql: t, Ctx: ctx, Now: now}
		if err := write.stillIn(); err != nil {
			return err
		}
		return f(write)
	}))
}

type sessionKey struct{}

// During gives a context whose writes are refused once a session has ended.
func During(ctx context.Context, session string) context.Context {
	return context.WithValue(ctx, sessionKey{}, session)
}

var sessionStands = sqlite.SQL(`select count(*) from session where hash = ? and role <> 'ended'`)

func (t Tx) stillIn() error {
	session, let := t.Ctx.Value(sessionKey{}).(string)
	if !let {
		return nil
	}
	n, err := One(t, "session", sessionStands, Value[int], session)
	if err == nil && n == 0 {
		err = knownwater.Refuse(knownwater.NotAllowed, "the access of this browser was ended: nothing was kept")
	}
	return err
}

// Read runs f on one unchanging view of the bench.
func (s *Store) Read(ctx context.Context, f func(Tx) error) error {
	now := s.Clock()
	return Refused(s.db.Read(ctx, func(t *sql.Tx) error { return f(Tx{sql: t, Ctx: ctx, Now: now}) }))
}

// batchTime is how long one of many transactions holds the file, so that nobody
// who waits for it notices.
const batchTime = 25 * time.Millisecond

// InBatches does n things one after the other, in short transactions between which
// others get their turn. done is told how many are on the disk; nil: nobody is.
// An error undoes the transaction that it came up in; those before stand.
func (s *Store) InBatches(ctx context.Context, n int, do func(t Tx, k int) error, done func(int)) error {
	for k := 0; k < n; {
		err := s.Write(ctx, func(t Tx) error {
			t = t.Many()
			for start := time.Now(); k < n && time.Since(start) < batchTime; k++ {
				if err := do(t, k); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		if done != nil {
			done(k)
		}
	}
	return nil
}

var troubleKinds = map[sqlite.Kind]knownwater.RefusalKind{
	sqlite.InUse: knownwater.InUse, sqlite.Newer: knownwater.Newer, sqlite.NotOurs: knownwater.Damaged, sqlite.Damaged: knownwater.Damaged,
	sqlite.Altered: knownwater.Damaged, sqlite.Linked: knownwater.InUse,
	sqlite.Full: knownwater.Full, sqlite.ReadOnly: knownwater.ReadOnly, sqlite.Missing: knownwater.NotFound,
}

// Refused turns trouble with the file into a Refusal.
func Refused(err error) error {
	var t *sqlite.Trouble
	if errors.As(err, &t) {
		return &knownwater.Refusal{Kind: troubleKinds[t.Kind], Words: string(t.Kind)}
	}
	return err
}
