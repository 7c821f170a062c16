package bench

import (
	"context"
	"time"

	"knownwater/bench/store"
)

// tx is one transaction of the bench.
type tx struct{ store.Tx }

// write runs f in one transaction; what f did is on the disk when it returns nil.
func (b *Bench) write(ctx context.Context, f func(tx) error) error {
	return b.db.Write(ctx, func(t store.Tx) error { return f(tx{t}) })
}

// read runs f on one unchanging view of the bench.
func (b *Bench) read(ctx context.Context, f func(tx) error) error {
	return b.db.Read(ctx, func(t store.Tx) error { return f(tx{t}) })
}

func (b *Bench) clock() time.Time { return b.db.Clock() }
