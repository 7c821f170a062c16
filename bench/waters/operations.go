// Package waters is what is tested again and again: waters in versions, the samples that
// results are of, and what became of results that waited for a check.
package waters

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
)

// Operations are what is done about waters.
type Operations struct {
	store *store.Store
	from  Sources
}

// Sources are what waters take from other subjects, in their own transaction.
type Sources struct {
	Need   func(t store.Tx, id int64) (knownwater.NeedEntry, error)
	Result func(t store.Tx, id int64) error // whether there is such a result
}

// On are the operations on an open bench.
func On(s *store.Store, from Sources) *Operations { return &Operations{s, from} }

type tx struct{ store.Tx }

func (b *Operations) write(ctx context.Context, f func(tx) error) error {
	return b.store.Write(ctx, func(t store.Tx) error { return f(tx{t}) })
}

func (b *Operations) read(ctx context.Context, f func(tx) error) error {
	return b.store.Read(ctx, func(t store.Tx) error { return f(tx{t}) })
}
