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

	"knownwater/sqlite"
)

// Bench is one working set in one file. Its methods may be called from many
// goroutines at once.
type Bench struct {
	db     *sqlite.DB
	now    func() time.Time
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
	db, err := sqlite.Open(context.Background(), path)
	if err != nil {
		return nil, refused(err)
	}
	b := &Bench{db: db, now: o.Now, limits: newLimits(), judged: newJudged(), fits: newFits()}
	if b.now == nil {
		b.now = time.Now
	}
	return b, nil
}

// Close lets the file go.
func (b *Bench) Close() error { return b.db.Close() }

// Path is the file that the bench stands in.
func (b *Bench) Path() string { return b.db.Path() }

// Role is what somebody may do.
type Role string

// The roles.
const (
	Owner  Role = "owner"  // everything
	Reader Role = "reader" // take readings in trials that name them, and see their own
)

// Who does something, and from where. Loopback without login is
// Who{Role: Owner, Device: "this computer"}, with Person once it is chosen.
type Who struct {
	Person int64  // 0: nobody in particular
	Name   string // as written into the records
	Role   Role
	Device string // from where: "phone of Ines", "this computer", an address
}

// mustOwn refuses what only an owner may do.
func (w Who) mustOwn() error {
	if w.Role != Owner {
		return refuse(NotAllowed, "only an owner of the bench may do this")
	}
	return nil
}

// Stamp says who did something, when and from where.
type Stamp struct {
	At     time.Time `json:"at"`
	Name   string    `json:"name"`
	Device string    `json:"device"`
}

// RefusalKind says why something was not done, for the status of a page.
type RefusalKind string

// The kinds of refusal.
const (
	NotFound    RefusalKind = "not found"
	NotAllowed  RefusalKind = "not allowed"
	Sealed      RefusalKind = "key sealed"   // needs the key, which is still shut
	WrongState  RefusalKind = "wrong state"  // the trial is not there yet, or past it
	AlreadyRead RefusalKind = "already read" // this reader has read this vial: correct it instead
	TooMany     RefusalKind = "too many"     // too many tries: wait
	InUse       RefusalKind = "in use"       // another process has the bench open
	Newer       RefusalKind = "newer file"   // made by a newer program
	Damaged     RefusalKind = "damaged file"
	Full        RefusalKind = "disk full"
	ReadOnly    RefusalKind = "read-only file"
	TooLarge    RefusalKind = "too large"
)

// Refusal is something that cannot be done, in words fit for a page.
type Refusal struct {
	Kind  RefusalKind
	Words string
}

func (r *Refusal) Error() string { return r.Words }

// Is lets errors.Is compare by kind: errors.Is(err, &Refusal{Kind: Sealed}).
func (r *Refusal) Is(target error) bool {
	t, ok := target.(*Refusal)
	return ok && t.Kind == r.Kind && t.Words == ""
}
