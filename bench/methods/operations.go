// Package methods is what is tested with and for what: methods in versions, lots
// of their reagents, needs.
package methods

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
)

// Operations are what is done about methods, lots and needs.
type Operations struct{ store *store.Store }

// On are the operations on an open bench.
func On(s *store.Store) *Operations { return &Operations{s} }

// tx is one transaction.
type tx struct{ store.Tx }

func (b *Operations) write(ctx context.Context, f func(tx) error) error {
	return b.store.Write(ctx, func(t store.Tx) error { return f(tx{t}) })
}

func (b *Operations) read(ctx context.Context, f func(tx) error) error {
	return b.store.Read(ctx, func(t store.Tx) error { return f(tx{t}) })
}

// What other subjects take from here, in their own transactions:

// Latest is the latest version of a method.
func Latest(t store.Tx, id int64) (knownwater.MethodVersion, error) { return kept.Latest(t, id) }

// ByVersion is a certain version of a method.
func ByVersion(t store.Tx, version int64) (knownwater.MethodVersion, error) {
	return kept.Version(t, version)
}

// Described is ByVersion without the counts, which take time.
func Described(t store.Tx, version int64) (knownwater.MethodVersion, error) {
	return bare.Version(t, version)
}

// LotByID is one lot.
func LotByID(t store.Tx, id int64) (knownwater.Lot, error) {
	return store.One(t, "lot", lotByID, scanLot, id)
}

// LotsOf are a method's lots, those in use first, newest first.
func LotsOf(t store.Tx, method int64) ([]knownwater.Lot, error) {
	return store.All(t, lotsOf, scanLot, method)
}

// NeedByID is one need.
func NeedByID(t store.Tx, id int64) (knownwater.NeedEntry, error) {
	return store.One(t, "need", needByID, scanNeed, id)
}
