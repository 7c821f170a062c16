package bench

import (
	"context"
	"time"

	"knownwater"
	"knownwater/science/plan"
	"knownwater/science/unit"
)

// State is where a trial stands in its life.
type State string

// The states, in order.
const (
	Planned  State = "planned"
	SealedUp State = "sealed"
	Running  State = "running"
	Opened   State = "opened"
	Finished State = "finished"
)

// Plan is everything that a trial's planner decides. Until it is sealed it can
// be saved half finished; CheckPlan lists what is still missing.
type Plan struct {
	Title    string       `json:"title"`
	Question string       `json:"question,omitempty"` // what the trial should decide
	Scale    unit.Scale   `json:"scale"`
	Water    unit.Water   `json:"water"`
	Methods  []PlanMethod `json:"methods,omitempty"`
	Knowns   []Known      `json:"knowns,omitempty"`
	Needs    []int64      `json:"needs,omitempty"`   // NeedEntry.ID
	Readers  []int64      `json:"readers,omitempty"` // Person.ID

	Sessions   int    `json:"sessions"`              // blocks, each done in one sitting
	Replicates int    `json:"replicates"`            // vials a known, method and technique
	Blanks     int    `json:"blanks"`                // vials a blank (a known of level 0 or marked Blank), method and technique; at least 6 wanted
	Check      string `json:"check,omitempty"`       // label of the known used as check standard; empty: none
	CheckEvery int    `json:"check_every,omitempty"` // a check vial at both ends of a session, and after every so many vials of a method; 0: ends only
	Duplicates int    `json:"duplicates"`            // hidden duplicates a session and method, on top of the replicates
	StopAfter  int    `json:"stop_after,omitempty"`  // stop rule: this many readings; 0: all that the plan asks for
	Seed       uint64 `json:"seed"`                  // drawn at NewTrial; below 2^53
}

// PlanMethod is one method's part in a plan.
type PlanMethod struct {
	VersionID  int64      `json:"version_id"`
	Lots       []int64    `json:"lots,omitempty"`       // dealt out over the vials in turn
	Techniques []string   `json:"techniques,omitempty"` // empty: one, without a name
	Together   bool       `json:"together"`             // every reader reads every vial; else vials are dealt out to readers
	Guess      plan.Guess `json:"guess"`                // how the method is thought to behave, for the forecast
}

// Known is water of known concentration in a plan.
type Known struct {
	Label   string  `json:"label"` // for the preparation list: "stock 1000 + salt mix, 6 mg/L"
	Level   float64 `json:"level"` // in the plan's scale
	U       float64 `json:"u"`     // standard uncertainty, k = 1
	UShared float64 `json:"u_shared,omitempty"`
	Matrix  string  `json:"matrix,omitempty"`
	Blank   bool    `json:"blank,omitempty"` // a blank, though its level may not be quite 0
	Vials   int     `json:"vials,omitempty"` // 0: Plan.Replicates or Plan.Blanks
}

// Trial is a trial's head: all that can be told without the key.
type Trial struct {
	ID       int64
	State    State
	Plan     Plan // its Knowns are left out for anyone who may not see them yet: see [Bench.Trial]
	Made     Stamp
	SealedAt *Stamp
	Key      KeyRecord
	Progress Progress
	Imported bool   // came from a data set; has no plan or key of its own
	Source   string // imported: what it came from
}

// KeyRecord is the story of a trial's key, for the report.
type KeyRecord struct {
	Digest   string  // SHA-256 of plan and key, written down when it was sealed
	Seen     []Stamp // every look at the preparation list, and every export while sealed
	Opened   *Stamp
	Early    bool   // opened before the stop rule was met
	Why      string // why early
	Readings int    // readings that stood when it was opened
	After    int    // readings and corrections taken after it was opened
}

// Progress is how far a trial has come.
type Progress struct {
	Vials    int // planned
	Planned  int // readings planned: vials × their readers
	Taken    int // of those, read (a "no reading possible" counts)
	Excluded int
	Flagged  int
	StopMet  bool // the stop rule is met: the key may be opened
	Last     time.Time
}

// NewTrial begins a trial with a plan, which may be empty but for its title.
// Owner.
func (b *Bench) NewTrial(ctx context.Context, by Who, p Plan) (Trial, error) {
	return Trial{}, errNotYet
}

// SavePlan keeps a plan while the trial is in state planned. Owner.
func (b *Bench) SavePlan(ctx context.Context, by Who, trial int64, p Plan) (Trial, error) {
	return Trial{}, errNotYet
}

// DropTrial forgets a trial that is still only planned. Owner.
func (b *Bench) DropTrial(ctx context.Context, by Who, trial int64) error { return errNotYet }

// Trials are all trials, newest first, without their plans' knowns.
func (b *Bench) Trials(ctx context.Context) ([]Trial, error) { return nil, errNotYet }

// Trial is one trial. Its plan's knowns and seed are there while it is planned
// (for an owner) and once its key is open; in between they are sealed for
// everybody, because whoever knows the seed can work out the key.
func (b *Bench) Trial(ctx context.Context, by Who, trial int64) (Trial, error) {
	return Trial{}, errNotYet
}

// Proposal is what the bench proposes for a plan's levels.
type Proposal struct {
	Knowns []Known // labels filled in, u left 0
	Why    []string
}

// ProposeKnowns proposes levels between the swatches of the plan's methods and
// around the limits of its needs, with a blank.
func (b *Bench) ProposeKnowns(ctx context.Context, p Plan) (Proposal, error) {
	return Proposal{}, errNotYet
}

// CheckPlan lists all that keeps a plan from being sealed (Column names the
// form field) and doubts that do not.
func (b *Bench) CheckPlan(ctx context.Context, p Plan) (faults knownwater.Faults, doubts []string, err error) {
	return nil, nil, errNotYet
}

// Costs are what a plan takes in tests, hours and money.
type Costs struct {
	Methods  []MethodCost
	Vials    int
	Readings int
	Hours    float64 // of sessions, staggered as scheduled
	Sessions []SessionCost
	Money    float64 // what must be bought on top of what is left
}

// MethodCost is one method's share.
type MethodCost struct {
	Method    string
	Tests     int
	TestsLeft int     // in the chosen lots, else in all; -1: not known
	ToBuy     int     // packs or refills to buy
	Money     float64 // for those
	Value     float64 // worth of all the tests, bought or on the shelf
}

// SessionCost is how long one session takes.
type SessionCost struct {
	Session int
	Vials   int
	Minutes float64
}

// Costs works out tests, hours and money of a plan.
func (b *Bench) Costs(ctx context.Context, p Plan) (Costs, error) { return Costs{}, errNotYet }

// Forecast simulates the plan with each method's guess and says what it would
// be able to decide: see [plan.Outlook]. It takes seconds; it ends early, with
// what it has, when ctx ends. runs 0 means plan.DefaultRuns.
func (b *Bench) Forecast(ctx context.Context, p Plan, runs int) (plan.Outlook, error) {
	return plan.Outlook{}, errNotYet
}

// GuessFrom is the guess that an earlier trial's record gives for a method.
func (b *Bench) GuessFrom(ctx context.Context, by Who, trial int64, method string) (plan.Guess, error) {
	return plan.Guess{}, errNotYet
}

// SealPlan draws codes and run order from the seed, makes the vials, and shuts
// the key. Owner.
func (b *Bench) SealPlan(ctx context.Context, by Who, trial int64) (Trial, error) {
	return Trial{}, errNotYet
}

// Label is what is printed on a vial: nothing that tells its level.
type Label struct {
	Vial    int64
	Code    string
	Session int
	Order   int // place in the run, over all sessions
	Method  string
}

// Labels are a sealed trial's vial labels in run order; session 0: all.
func (b *Bench) Labels(ctx context.Context, trial int64, session int) ([]Label, error) {
	return nil, errNotYet
}

// SheetRow is one row of a printable run sheet: also nothing that tells a level.
type SheetRow struct {
	Label
	Technique string
	Lot       string
	Dilution  float64
	Readers   []string
	Start     time.Duration // after the session's start, from the schedule
	Read      time.Duration
}

// RunSheet is the run sheet of a session (0: all).
func (b *Bench) RunSheet(ctx context.Context, trial int64, session int) ([]SheetRow, error) {
	return nil, errNotYet
}

// PrepRow says which vials are filled with which known.
type PrepRow struct {
	Known    Known
	Blank    bool
	Sessions []PrepVials
	Vials    int // over all sessions
}

// PrepVials are one session's vials of a known.
type PrepVials struct {
	Session int
	Vials   []Label
}

// PrepList tells whoever fills the vials what goes where. It shows the key, so
// every look is recorded by name and shown in the report. Owner.
func (b *Bench) PrepList(ctx context.Context, by Who, trial int64) ([]PrepRow, error) {
	return nil, errNotYet
}

// OpenKey opens the key. Before the stop rule is met it needs a why, which is
// recorded and shown. Opening an open key changes nothing. Owner.
func (b *Bench) OpenKey(ctx context.Context, by Who, trial int64, why string) (Trial, error) {
	return Trial{}, errNotYet
}

// Finish closes a trial whose key is open: no more readings. Owner.
func (b *Bench) Finish(ctx context.Context, by Who, trial int64) (Trial, error) {
	return Trial{}, errNotYet
}

// Event is one line of what was done: for the trial's history and the report.
type Event struct {
	Stamp
	What string
	Why  string
}

// History is what was done to a trial, oldest first.
func (b *Bench) History(ctx context.Context, trial int64) ([]Event, error) { return nil, errNotYet }
