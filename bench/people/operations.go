// Package people is who works at the bench and who comes in: persons and their
// roles, the owner's passphrase, pairing of phones, sessions, and how often
// somebody may try.
package people

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
)

// Operations are what is done about people.
type Operations struct {
	store  *store.Store
	limits *limits
}

// On are the operations on an open bench.
func On(s *store.Store) *Operations { return &Operations{store: s, limits: newLimits()} }

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

// Named is the person of a name, who is added as a reader where nobody is called that.
func Named(t store.Tx, by knownwater.Who, name string) (int64, error) {
	there, err := store.All(t, personByName, scanPerson, name)
	if err != nil {
		return 0, err
	}
	if len(there) > 0 {
		return there[0].ID, nil
	}
	return tx{t}.putPerson(by, knownwater.Person{Name: name, Role: knownwater.Reader})
}
