package trials

import (
	"context"
	"errors"
	"fmt"

	"knownwater/bench/store"
)

// AbandonArriving takes away what data sets left behind that did not come in whole
// because the program ended; at the opening of a bench.
func (b *Operations) AbandonArriving(ctx context.Context) error {
	var ids []int64
	err := b.read(ctx, func(t tx) (err error) {
		ids, err = store.All(t.Tx, arrivingTrials, store.Value[int64])
		return err
	})
	for _, id := range ids {
		err = errors.Join(err, b.abandon(ctx, id))
	}
	return err
}

// abandon takes a data set away again that did not come in whole, a few rows at a
// time.
func (b *Operations) abandon(ctx context.Context, trial int64) error {
	rows := func(statement string) func(store.Tx, int64) (bool, error) {
		return func(t store.Tx, trial int64) (bool, error) {
			n, err := t.Change(statement, trial)
			return n > 0, err
		}
	}
	steps := []func(store.Tx, int64) (bool, error){rows(abandonReadings), rows(abandonVials), rows(abandonKnowns)}
	steps = append(steps, b.from.Abandon...)
	for _, step := range append(steps, rows(abandonTrial)) {
		for more := true; more; {
			err := b.write(ctx, func(t tx) (err error) {
				more, err = step(t.Tx, trial)
				return err
			})
			if err != nil {
				return fmt.Errorf("take away what came in of trial %d: %w", trial, err)
			}
		}
	}
	return nil
}
