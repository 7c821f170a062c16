package calibrations

import (
	"context"
	"math"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/history"
	"knownwater/science/inverse"
	"knownwater/science/result"
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

// LastResults are the standing results of all waters that were kept last, without checks.
func (b *Operations) LastResults(ctx context.Context, most int) (list []Result, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, resultsOfWaters, scanResult, most)
		return err
	})
	return list, err
}

// ResultsWithLot is how many tests were done with a lot by a record: corrections are none of
// their own.
func (b *Operations) ResultsWithLot(ctx context.Context, record int64, lot string) (n int, err error) {
	err = b.read(ctx, func(t tx) error {
		n, err = store.One(t.Tx, "result", resultsWithLot, store.Value[int], lot, record)
		return err
	})
	return n, err
}

// UsesOf are the first results by a record with each lot by each reader, of any water, in order of time.
func (b *Operations) UsesOf(ctx context.Context, record int64) (uses []history.Use, err error) {
	err = b.read(ctx, func(t tx) error {
		lines, err := store.All(t.Tx, usesOfRecord, func(scan func(...any) error) (u history.Use, err error) {
			return u, scan(&u.Lot, &u.Reader, store.Time(&u.At))
		}, record)
		for _, u := range lines {
			for _, u.Reader = range Readers(u.Reader) {
				uses = append(uses, u)
			}
		}
		return err
	})
	return uses, err
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

// Said is a record's or curve's result as it was said when it was kept.
func (r Result) Said() result.Outcome {
	o := result.Outcome{Scale: r.Scale}
	o.Readings = readingsOf(r.Text)
	o.Result = result.Result{U: r.Outcome.U, Answer: inverse.Answer{Estimate: r.Outcome.Level, Low: r.Outcome.Low, High: r.Outcome.High, Open: inverse.Open(r.Outcome.Open), Parts: r.Pieces}}
	switch r.Outcome.Outside { // of a curve's
	case "below":
		o.Result.Open = inverse.Below
	case "above":
		o.Result.Open, o.Result.High = inverse.Above, math.NaN()
	}
	return o
}
