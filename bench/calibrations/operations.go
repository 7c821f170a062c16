// Package calibrations is what turns a method's readings into concentrations, in
// versions: curves with their points and their re-checks, records of trials that were
// adopted, the versions in use; and the results of waters that were made with them.
package calibrations

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
)

// Operations are what is done about calibrations.
type Operations struct {
	store *store.Store
	from  Sources
	fits  *store.Memo[int64, fitted]
	known *store.Memo[int64, performance]
	cards *store.Memo[cardKey, Card]
}

// Sources are what calibrations take from other subjects, in their own transaction.
type Sources struct {
	// Trial is a finished trial's readings of one method, with those left out of
	// the findings or without; Refused while it is not finished.
	Trial func(t store.Tx, trial, method int64) (knownwater.MethodReadings, error)
	// Inputs are what a finished trial's records are computed from, as it stands now
	// (nil) or as it stood.
	Inputs func(t store.Tx, trial int64, until *knownwater.Until) (knownwater.TrialInputs, error)
	// Sample keeps what a result is of and answers its id.
	Sample func(t store.Tx, by knownwater.Who, s knownwater.Sample) (int64, error)
}

// On are the operations on an open bench.
func On(s *store.Store, from Sources) *Operations {
	return &Operations{store: s, from: from, fits: store.NewMemo[int64](mostFitted, fitted.size), known: store.NewMemo[int64, performance](mostPerformances, nil), cards: store.NewMemo[cardKey, Card](mostCards, nil)}
}

// tx is one transaction.
type tx struct {
	store.Tx
	from Sources
}

func (b *Operations) write(ctx context.Context, f func(tx) error) error {
	return b.store.Write(ctx, func(t store.Tx) error { return f(tx{t, b.from}) })
}

func (b *Operations) read(ctx context.Context, f func(tx) error) error {
	return b.store.Read(ctx, func(t store.Tx) error { return f(tx{t, b.from}) })
}
