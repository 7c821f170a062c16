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
// # Waters
//
//	SaveWater               a tank, a customer's water, a batch: what it is to be, in versions
//	KeepResult              a reading turned round, of a sample of a water, or of known water among them
//	Watch, Waits            whether a method still holds by its checks, and which results wait
//	SayStanding             what became of results that waited
//
// # Choosing
//
//	Choose, NextVials       which way of testing for a need, by trials; what to test next
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
	"errors"
	"io"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/exchange"
	"knownwater/bench/methods"
	"knownwater/bench/people"
	"knownwater/bench/standards"
	"knownwater/bench/store"
	"knownwater/bench/trials"
	"knownwater/bench/waters"
	"knownwater/science/control"
	"knownwater/science/history"
)

// Bench is one working set in one file. The operations of each subject are its
// own. They may be called from many goroutines at once.
type Bench struct {
	store    *store.Store
	watch    *store.Memo[string, []Watched]
	solved   control.Solved // limits of checks
	waterLog *store.Memo[string, history.History]
	lots     *store.Memo[string, history.Beside]
	choosing choosing
	*onPeople
	*onMethods
	*onStandards
	*onTrials
	*onCalibrations
	*onWaters
	*onExchange
}

// Names to embed the subjects under that no operation has.
type (
	onPeople       = people.Operations
	onMethods      = methods.Operations
	onStandards    = standards.Operations
	onTrials       = trials.Operations
	onCalibrations = calibrations.Operations
	onWaters       = waters.Operations
	onExchange     = exchange.Operations
)

// Options of an open bench. The zero value is right for use.
type Options struct {
	Now func() time.Time // the clock; nil: the real one
}

// Open opens the bench in the file at path and makes it if there is none. One
// process at a time has a bench open: a second one is refused (Refusal of kind
// InUse). A file of a newer program is refused (Newer), one of an older program
// is brought up to date.
func Open(path string, o Options) (*Bench, error) {
	s, err := store.Open(context.Background(), path, o.Now)
	if err != nil {
		return nil, err
	}
	t := trials.On(s, trials.Sources{
		Method: methods.ByVersion, Described: methods.Described, Lot: methods.LotByID, Lots: methods.LotsOf, Need: methods.NeedByID,
		Person: people.ByID, Standards: standards.ByVersion,
		BringInMethod: methods.BringIn, BringInLot: methods.BringInLot, BringInNeed: methods.BringInNeed, BringInPerson: people.BringIn,
		Settle:  []func(store.Tx, knownwater.Who, int64) error{methods.Settle, people.Settle},
		Abandon: []func(store.Tx, int64) (bool, error){methods.Abandon, people.Abandon},
	})
	if err := t.AbandonArriving(context.Background()); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return &Bench{
		store:          s,
		watch:          newWatch(),
		waterLog:       store.NewMemo[string, history.History](mostHistories, nil),
		lots:           store.NewMemo[string, history.Beside](mostLots, nil),
		choosing:       newChoosing(),
		onPeople:       people.On(s),
		onMethods:      methods.On(s),
		onStandards:    standards.On(s, standards.Sources{Method: methods.Latest}),
		onTrials:       t,
		onCalibrations: calibrations.On(s, calibrations.Sources{Trial: t.MethodReadings, Inputs: t.Inputs, Sample: waters.PutSample}),
		onWaters:       waters.On(s, waters.Sources{Need: methods.NeedByID, Result: calibrations.ResultThere}),
		onExchange:     exchange.On(s, carried),
	}, nil
}

// Close lets the file go.
func (b *Bench) Close() error { return b.store.Close() }

// Path is the file that the bench stands in.
func (b *Bench) Path() string { return b.store.Path() }

// carried is what an export and an import need of the subjects.
var carried = exchange.Sources{
	NoteExport: trials.NoteExport,
	PhotoType:  trials.PhotoType,
	KeptFaults: []func(store.Tx) (string, error){methods.KeptFaults, standards.KeptFaults, calibrations.KeptFaults, waters.KeptFaults,
		func(t store.Tx) (string, error) { return trials.KeptFaults(t, standards.ByVersion) }},
}

// Import fills a new bench file at path from an export: see [exchange.Import].
func Import(ctx context.Context, r io.ReaderAt, size int64, path string) error {
	return exchange.Import(ctx, r, size, path, carried)
}

// Restore checks a backup and puts a copy of it at path: see [exchange.Restore].
func Restore(ctx context.Context, backup, path string, now time.Time) (exchange.Copy, error) {
	return exchange.Restore(ctx, backup, path, now, carried)
}
