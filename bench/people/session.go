package people

import (
	"context"
	"time"

	"knownwater"
	"knownwater/bench/store"
)

// Sessions keeps login sessions in the bench's file.
type Sessions struct{ b *Operations }

// SessionEntry is one login, for the owner's list.
type SessionEntry struct {
	ID      string // not the token
	Person  int64
	Name    string
	Role    knownwater.Role
	Device  string
	Since   time.Time
	Expires time.Time
}

// tieLife is how long a session stands that was tied but not yet committed.
const tieLife = time.Hour

// Sessions is a store with the three methods that scs wants. Tokens are kept as
// hashes. It outlives a restart of the server.
func (b *Operations) Sessions() *Sessions { return &Sessions{b} }

// Find returns the data of a session that has not ended.
func (s *Sessions) Find(token string) (data []byte, found bool, err error) {
	err = s.b.read(context.Background(), func(t tx) error {
		rows, err := store.All(t.Tx, sessionFind, store.Value[[]byte], hashOf(token), store.TimeText(t.Now))
		if len(rows) > 0 {
			data, found = rows[0], true
		}
		return err
	})
	return data, found, err
}

// Commit keeps a session's data until expiry; not of one that was ended since it
// was found.
func (s *Sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.b.write(context.Background(), func(t tx) error {
		if err := t.Exec(sessionForget, store.TimeText(t.Now)); err != nil {
			return err
		}
		return t.Exec(sessionCommit, hashOf(token), data, store.TimeText(expiry), store.TimeText(t.Now))
	})
}

// Delete ends a session.
func (s *Sessions) Delete(token string) error {
	return s.b.write(context.Background(), func(t tx) error { return t.Exec(sessionDelete, hashOf(token)) })
}

// Era is when somebody began to prove who they are; for Tie.
func (s *Sessions) Era() uint64 { return s.b.era.Load() }

// Tie notes whose session it is and on what device, so that it can be listed
// and ended. Call it after login or pairing, with scs's Token and the Era from
// before. Where a passphrase was set or a person's role changed since, what was
// proved may hold no longer: refused.
func (s *Sessions) Tie(ctx context.Context, token string, w knownwater.Who, era uint64) error {
	return s.b.write(ctx, func(t tx) error {
		if era != s.b.era.Load() {
			return knownwater.Refuse(knownwater.NotAllowed, "who may come in was changed just now: try again")
		}
		return t.Exec(sessionTie, hashOf(token), store.TimeText(t.Now.Add(tieLife)), w.Person, w.Name, w.Role, w.Device, store.TimeText(t.Now))
	})
}

// List are the sessions that have not ended. Owner.
func (s *Sessions) List(ctx context.Context, by knownwater.Who) (list []SessionEntry, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	err = s.b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, sessionList, func(scan func(...any) error) (e SessionEntry, err error) {
			err = scan(&e.ID, &e.Person, &e.Name, &e.Role, &e.Device, store.Time(&e.Since), store.Time(&e.Expires))
			return e, err
		}, store.TimeText(t.Now))
		return err
	})
	return list, err
}

// End ends one session from the list. Owner.
func (s *Sessions) End(ctx context.Context, by knownwater.Who, id string) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return s.b.write(ctx, func(t tx) error {
		var person int64
		var role knownwater.Role
		_, err := store.One(t.Tx, "session", sessionWhose, func(scan func(...any) error) (any, error) { return nil, scan(&person, &role) }, id)
		if err != nil {
			return err
		}
		if err := t.Exec(sessionDelete, id); err != nil {
			return err
		}
		// A code that it made, or that waits for its person, lets nobody back in.
		if role == knownwater.Owner {
			err = t.Exec(dropAllPairings)
		} else {
			err = t.Exec(dropPairings, person)
		}
		if err != nil {
			return err
		}
		return t.Note(by, 0, "ended a session", "")
	})
}

// During gives the context of a request that was let in by a session: once that is
// ended, nothing more is written for it.
func (s *Sessions) During(ctx context.Context, token string) context.Context {
	return store.During(ctx, hashOf(token))
}
