// Package people is who works at the bench and who comes in: persons and their
// roles, the owner's passphrase, pairing of phones, sessions, and how often
// somebody may try.
package people

import (
	"context"
	"fmt"
	"sync/atomic"

	"knownwater"
	"knownwater/bench/store"
)

// Operations are what is done about people.
type Operations struct {
	store *store.Store
	gate  *gate
	era   atomic.Uint64 // counts what ends access
}

// On are the operations on an open bench.
func On(s *store.Store) *Operations { return &Operations{store: s, gate: newGate()} }

// tx is one transaction.
type tx struct{ store.Tx }

func (b *Operations) write(ctx context.Context, f func(tx) error) error {
	return b.store.Write(ctx, func(t store.Tx) error { return f(tx{t}) })
}

func (b *Operations) read(ctx context.Context, f func(tx) error) error {
	return b.store.Read(ctx, func(t store.Tx) error { return f(tx{t}) })
}

// ByID is one person.
func ByID(t store.Tx, id int64) (knownwater.Person, error) {
	return store.One(t, "person", personByID, scanPerson, id)
}

// BringIn is the person of a name, for a data set on its way in. Where nobody is
// called that a reader is added, whom nobody sees until Settle.
func BringIn(t store.Tx, by knownwater.Who, trial int64, name string) (int64, error) {
	there, err := store.All(t, personByName, scanPerson, name)
	if err != nil {
		return 0, err
	}
	if len(there) > 0 {
		return there[0].ID, nil
	}
	at, who, device := t.Stamp(by)
	return t.Insert(insertArriving, name, at, who, device, trial)
}

// Settle lets everybody see whom a data set brought, once it is in.
func Settle(t store.Tx, by knownwater.Who, trial int64) error {
	names, err := store.All(t, arrivingNames, store.Value[string], trial)
	for _, name := range names {
		if err := t.Note(by, 0, fmt.Sprintf("added %s as %s", name, knownwater.Reader), ""); err != nil {
			return err
		}
	}
	if err != nil {
		return err
	}
	return t.Exec(settlePeople, trial)
}

// Abandon takes one of those away again whom a data set brought that did not come
// in whole; false when none is left.
func Abandon(t store.Tx, trial int64) (bool, error) {
	n, err := t.Change(abandonPerson, trial)
	return n > 0, err
}
