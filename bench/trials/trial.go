package trials

import (
	"context"
	"time"

	"knownwater"
	"knownwater/bench/store"
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
	NoWater  bool         `json:"no_water,omitempty"` // nobody stated it: Water holds defaults
	Methods  []PlanMethod `json:"methods,omitempty"`
	Knowns   []Known      `json:"knowns,omitempty"`
	Set      int64        `json:"set,omitempty"`     // PreparedSet.VersionID that knowns with a Standard come from
	Needs    []int64      `json:"needs,omitempty"`   // NeedEntry.ID
	Readers  []int64      `json:"readers,omitempty"` // Person.ID

	Sessions   int    `json:"sessions"`              // blocks, each done in one sitting
	Replicates int    `json:"replicates"`            // vials a known, method and technique
	Blanks     int    `json:"blanks"`                // vials a blank (a known of level 0 or marked Blank), method and technique; at least 6 wanted
	Check      string `json:"check,omitempty"`       // label of the known used as check standard; empty: none
	CheckEvery int    `json:"check_every,omitempty"` // a check vial at both ends of a session, and after every so many vials of a method; 0: ends only
	Duplicates int    `json:"duplicates"`            // hidden duplicates a session and method, on top of the replicates
	StopAfter  int    `json:"stop_after,omitempty"`  // stop rule: this many readings; 0: all that the plan asks for
	Seed       uint64 `json:"seed,omitempty"`        // of codes, order and all else; 0: drawn when the plan is sealed, which keeps the key from its planner too
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
	Label       string  `json:"label"` // for the preparation list: "stock 1000 + salt mix, 6 mg/L"; the code on the bottle where it is of a set
	Level       float64 `json:"level"` // in the plan's scale
	U           float64 `json:"u"`     // standard uncertainty, k = 1
	UShared     float64 `json:"u_shared,omitempty"`
	UBackground float64 `json:"u_background,omitempty"` // of the water that it was made up with: another error that all share
	Nitrite     float64 `json:"nitrite,omitempty"`      // mg/L NO2 beside its nitrate: then it judges no level, it tells what a method makes of nitrite
	UNitrite    float64 `json:"u_nitrite,omitempty"`
	Matrix      string  `json:"matrix,omitempty"`
	Blank       bool    `json:"blank,omitempty"`    // a blank, though its level may not be quite 0
	Vials       int     `json:"vials,omitempty"`    // 0: Plan.Replicates or Plan.Blanks
	Standard    string  `json:"standard,omitempty"` // a standard of Plan.Set by its name: all but Vials is taken from there
}

// Trial is a trial's head: all that can be told without the key.
type Trial struct {
	ID       int64
	State    State
	Plan     Plan // its Knowns are left out for anyone who may not see them yet: see [Bench.Trial]
	Made     knownwater.Stamp
	SealedAt *knownwater.Stamp
	Key      KeyRecord
	Progress Progress
	Place    Place  // in the lists, put away, or taken out
	Placed   string // why, where somebody said so last
	Planned  string // the title that it was planned or brought in with; Plan.Title is today's
	Imported bool   // came from a data set; has no plan or key of its own
	Source   string // imported: what it came from
}

// KeyRecord is the story of a trial's key, for the report.
type KeyRecord struct {
	Digest   string             // commitment to plan and key, written down when it was sealed (knownwater.Seal)
	Seen     []knownwater.Stamp // every look at the preparation list, and every export while sealed
	Opened   *knownwater.Stamp
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

func scanTrial(scan func(...any) error) (r Trial, err error) {
	var sealed, opened knownwater.Stamp
	var title string
	err = scan(&r.ID, &r.State, store.JSON(&r.Plan), &r.Imported, &r.Source, &r.Progress.Planned,
		store.Time(&r.Made.At), &r.Made.Name, &r.Made.Device,
		store.Time(&sealed.At), &sealed.Name, &sealed.Device, &r.Key.Digest,
		store.Time(&opened.At), &opened.Name, &opened.Device, &r.Key.Early, &r.Key.Why, &r.Key.Readings,
		&r.Progress.Vials, &r.Progress.Taken, &r.Progress.Excluded, &r.Progress.Flagged, store.Time(&r.Progress.Last),
		&title, &r.Place, &r.Placed)
	r.Planned = r.Plan.Title
	if title != "" {
		r.Plan.Title = title
	}
	if !sealed.At.IsZero() {
		r.SealedAt = &sealed
	}
	if !opened.At.IsZero() {
		r.Key.Opened = &opened
	}
	r.Progress.StopMet = r.State != Planned && r.Progress.Taken >= r.stopAfter()
	return r, err
}

// stopAfter is how many readings the stop rule wants.
func (r Trial) stopAfter() int {
	if n := r.Plan.StopAfter; n > 0 && n < r.Progress.Planned {
		return n
	}
	return r.Progress.Planned
}

// keyOpen says whether the key may be used.
func (r Trial) keyOpen() bool { return r.State == Opened || r.State == Finished }

// mustBe refuses what needs another state.
func (r Trial) mustBe(states ...State) error {
	for _, s := range states {
		if r.State == s {
			return nil
		}
	}
	return knownwater.Refuse(knownwater.WrongState, "the trial is %s", r.State)
}

// mustBeOpen refuses what needs the key.
func (r Trial) mustBeOpen() error {
	if r.keyOpen() {
		return nil
	}
	if r.State == Planned {
		return knownwater.Refuse(knownwater.WrongState, "the trial is only planned: there are no readings")
	}
	return knownwater.Refuse(knownwater.Sealed, "the key is sealed: %d of %d readings are taken", r.Progress.Taken, r.stopAfter())
}

// blinded is the trial without what tells the key to whoever may not know it.
func (r Trial) blinded(by knownwater.Who) Trial {
	if r.State == Finished || by.Role == knownwater.Owner && (r.State == Opened || r.State == Planned) {
		return r
	}
	r.Plan.Knowns, r.Plan.Seed, r.Plan.Check, r.Plan.Set = nil, 0, "", 0
	return r
}

// trial loads one trial in full.
func (t tx) trial(id int64) (Trial, error) {
	r, err := store.One(t.Tx, "trial", trialByID, scanTrial, id)
	if err != nil {
		return Trial{}, err
	}
	r.Key.Seen, err = store.All(t.Tx, keySeen, store.ScanStamp, id)
	if err != nil {
		return Trial{}, err
	}
	r.Key.After, err = store.One(t.Tx, "count", afterOpen, store.Value[int], id)
	return r, err
}

// trialIn loads a trial that must be in one of the states.
func (t tx) trialIn(id int64, states ...State) (Trial, error) {
	r, err := t.trial(id)
	if err == nil {
		err = r.mustBe(states...)
	}
	return r, err
}

// Trials are the trials that stand in the lists, newest first, without their plans' knowns
// and without KeyRecord.Seen and After.
func (b *Operations) Trials(ctx context.Context) ([]Trial, error) { return b.trials(ctx, trialsHere) }

// TrialsAway are those that were put away or taken out. Owner.
func (b *Operations) TrialsAway(ctx context.Context, by knownwater.Who) ([]Trial, error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	return b.trials(ctx, trialsAway)
}

func (b *Operations) trials(ctx context.Context, which string) (list []Trial, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, which, scanTrial)
		return err
	})
	for i := range list {
		list[i].Plan.Knowns, list[i].Plan.Seed, list[i].Plan.Check, list[i].Plan.Set = nil, 0, "", 0
	}
	return list, err
}

// Trial is one trial. Its plan's knowns and seed are there for an owner while it
// is planned and once its key is open, and for readers once it is finished; in
// between they are sealed for everybody, because whoever knows the seed can work
// out the key.
func (b *Operations) Trial(ctx context.Context, by knownwater.Who, trial int64) (r Trial, err error) {
	err = b.read(ctx, func(t tx) error {
		r, err = t.trial(trial)
		return err
	})
	return r.blinded(by), err
}

// Event is one line of what was done: for the trial's history and the report.
type Event struct {
	knownwater.Stamp
	What string
	Why  string
}

// History is what was done to a trial, oldest first.
func (b *Operations) History(ctx context.Context, trial int64) (list []Event, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, eventsOf, func(scan func(...any) error) (e Event, err error) {
			err = scan(store.Time(&e.At), &e.Name, &e.Device, &e.What, &e.Why)
			return e, err
		}, trial)
		return err
	})
	return list, err
}
