package bench

import (
	"context"
	"fmt"
	"math"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/science/assess"
	"knownwater/science/history"
)

// LotBeside is what a lot of a record's method reads to what the one before it does, by the
// checks of both, what is left of them, and what the need makes of it. The known is that of
// the checks, else the middle of what was tried.
func (b *Bench) LotBeside(ctx context.Context, record int64, lot, before knownwater.Lot, need *knownwater.Need) (l history.Lot, err error) {
	by, err := b.recordNow(ctx, record)
	if err != nil || by == nil {
		return l, err
	}
	l = history.Lot{Method: by.Spec.Method, Code: lot.Code, Before: before.Code}
	if l.Left, err = b.testsLeft(ctx, record, lot); err != nil {
		return l, err
	}
	if l.LeftBefore, err = b.testsLeft(ctx, record, before); err != nil {
		return l, err
	}
	checks, err := b.Checks(ctx)
	if err != nil {
		return l, err
	}
	var from, to []calibrations.Result
	key := fmt.Sprint("lots ", by.VersionID, " ", lot.Code, " ", before.Code)
	for _, r := range checks {
		switch {
		case r.Record != record:
			continue
		case r.Lot == lot.Code:
			to = append(to, r)
		case r.Lot == before.Code:
			from = append(from, r)
		default:
			continue
		}
		key += fmt.Sprint(",", r.ID)
	}
	beside, there := b.lots.Find(key)
	if !there {
		p, err := b.Performance(ctx, *by)
		if err != nil {
			return l, nil // the record's own page says why
		}
		beside = b.lots.Of(key, func() history.Beside {
			x := history.BesideBy(p, logOf(l.Method, from), logOf(l.Method, to))
			if math.IsNaN(x.Known) {
				x.Known, x.CV = planned(p, append(from, to...))
			}
			return x
		})
	}
	l.Beside = beside
	l.Told, l.Share = l.Verdict(need), l.Beside.Share(need)
	return l, nil
}

// mostLots are pairs of lots remembered.
const mostLots = 100

// planned is the known that side-by-side vials are best of, and the scatter of one there.
func planned(by *assess.Performance, checks []calibrations.Result) (known, cv float64) {
	bottom, top := by.Tried()
	known = math.Sqrt(math.Max(bottom, top/16) * top)
	dilution, reader := 1.0, ""
	for _, r := range checks {
		known, dilution, reader = r.Of.Known, r.Sample.Dilution, r.Reader
	}
	e, ok := by.Expect(known, 0, reader, "", dilution)
	if !ok {
		return known, math.NaN()
	}
	mean, sd := 0.0, 0.0
	for _, d := range e.Draws {
		mean += d.Mean
		sd += d.SD
	}
	return known, sd / mean
}

// testsLeft is what is left of a lot: what it held less the vials of trials and the results;
// −1 where nobody wrote down what it held.
func (b *Bench) testsLeft(ctx context.Context, record int64, l knownwater.Lot) (int, error) {
	if l.Tests == 0 {
		return -1, nil
	}
	n, err := b.ResultsWithLot(ctx, record, l.Code)
	return max(0, l.Tests-l.Used-n), err
}
