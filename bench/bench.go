// Package bench is what a person does at the bench: describe methods and lots,
// plan a trial, seal its key, take readings, open the key, read the findings,
// keep a copy. Every operation has three movements: load, compute, save in one
// transaction. It knows no page and no command.
//
// # The life of a trial
//
//	NewTrial, SavePlan …   state planned: everything can still change
//	Forecast, Costs        what the plan will be able to decide, and its price
//	SealPlan               state sealed: vials, codes and run order drawn from the seed; the key shut
//	PrepList, Labels       for whoever fills the vials (looking at the list is recorded)
//	Run, StartVial, KeepReading, CorrectReading   state running, from the first reading on
//	OpenKey                state opened: early only with a reason, recorded and shown
//	Findings, Exclude, Readings, TrialData
//	Finish                 state finished: no more readings
//
// # Knowns
//
//	SaveItem, WeighBottle   what is on the shelf: devices, stocks, waters, each in versions
//	PlanStandards, NewSet   the dilutions with the smallest uncertainty; the plan kept, codes drawn
//	WriteDown               what was really weighed or poured: values and uncertainties anew, the next version
//	Plan.WithSet            a trial's levels from a set; the trial names the version
//	CompareStocks           a verdict on two stocks
//
// # Who sees what
//
// Every operation that writes, and every one that must not show everything to
// everybody, takes a [Who]. Operations marked "owner" refuse a reader. What a
// reader at the vials may see is of a type of its own, [RunVial], that has no
// place for a level, a role or another person's reading.
//
// # Three kinds of no
//
// knownwater.Faults are faults in what a person typed. A [*Refusal] is
// something that cannot be done now (not found, not allowed, sealed, already
// read, disk full …), in words fit for a page. Any other error is ours.
package bench

import (
	"context"
	"time"

	"knownwater/bench/store"
)

// Bench is one working set in one file. Its methods may be called from many
// goroutines at once.
type Bench struct {
	db     *store.Store
	limits *limits
	judged *judged
	fits   *fits
}

// Options of an open bench. The zero value is right for use.
type Options struct {
	Now func() time.Time // the clock; nil: the real one
}

// Open opens the bench in the file at path and makes it if there is none. One
// process at a time has a bench open: a second one is refused (Refusal of kind
// InUse). A file of a newer program is refused (Newer), one of an older program
// is brought up to date.
func Open(path string, o Options) (*Bench, error) {
	db, err := store.Open(context.Background(), path, o.Now)
	if err != nil {
		return nil, err
	}
	return &Bench{db: db, limits: newLimits(), judged: newJudged(), fits: newFits()}, nil
}

// Close lets the file go.
func (b *Bench) Close() error { return b.db.Close() }

// Path is the file that the bench stands in.
func (b *Bench) Path() string { return b.db.Path() }
