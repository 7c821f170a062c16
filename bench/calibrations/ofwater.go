package calibrations

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
)

// ResultsOfWater are the standing results of a water, newest first: those of its samples,
// and older ones that were kept under its name.
func (b *Operations) ResultsOfWater(ctx context.Context, water int64, name string, most int) (list []Result, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, resultsOfWater, scanResult, water, name, most)
		return err
	})
	return list, err
}

// LastResults are the newest standing results of all waters, without checks.
func (b *Operations) LastResults(ctx context.Context, most int) (list []Result, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, resultsOfWaters, scanResult, most)
		return err
	})
	return list, err
}

// Checks are the standing results of known water among the samples, oldest first.
func (b *Operations) Checks(ctx context.Context) (list []Result, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, checkResults, scanResult)
		return err
	})
	return list, err
}

// ResultThere refuses what is no result of the bench.
func ResultThere(t store.Tx, id int64) error {
	n, err := store.One(t, "result", resultThere, store.Value[int], id)
	if err == nil && n == 0 {
		err = knownwater.Refuse(knownwater.NotFound, "there is no such result")
	}
	return err
}
