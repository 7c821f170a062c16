package trials

import (
	"context"
	"database/sql"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/interval"
	"knownwater/science/plan"
)

// Reading is one reading as it stands in the records, with the key joined: only
// for trials whose key is open.
type Reading struct {
	ID        int64
	Key       string
	Trial     int64
	Vial      int64
	Code      string
	Order     int
	Session   int
	Sitting   string // what its session was called, where readings were brought in
	Method    string
	VersionID int64
	Technique string
	Reader    int64
	Name      string
	Lot       string
	Known     string // label
	Level     float64
	ULevel    float64
	Nitrite   float64 // mg/L NO2 that the known holds beside
	Role      plan.Role
	Text      string
	Seen      interval.Interval // not valid where Text is empty
	Dilution  float64
	Replicate int
	Flags     []Flag
	Note      string
	Photo     string
	StartedAt time.Time
	ReadAt    time.Time
	OffBy     float64 // seconds outside the reading window
	Kept      knownwater.Stamp

	Supersedes   int64  // the reading that this one corrects
	SupersededBy int64  // 0: stands
	Why          string // why it was corrected
	Withdrawn    bool   // taken back
	AfterKey     bool   // taken after the key was opened
	Excluded     *Exclusion
}

// Exclusion leaves a reading out of the findings, with the reason.
type Exclusion struct {
	knownwater.Stamp
	Why      string
	AfterKey bool // decided with the key open
}

// ReadingFilter picks readings; zero fields pick all.
type ReadingFilter struct {
	Method    string
	Dilution  float64
	Level     *float64
	Reader    int64
	Session   int
	Technique *string
	Text      string
	Vial      int64
	Excluded  bool  // only those left out
	Flagged   bool  // only those with a flag or outside the window
	All       bool  // superseded and withdrawn ones too
	Limit     int   // 0: 500
	After     int64 // paging: readings with an ID above this
	ID        int64 // one reading with all that it corrects and all that corrects it; nothing else is looked at
}

// mostReadings is how many readings are listed at once unless asked otherwise.
const mostReadings = 500

func (t tx) readings(trial int64, f ReadingFilter) ([]Reading, error) {
	if f.ID != 0 {
		return store.All(t.Tx, readingStory, scanReading, trial, f.ID)
	}
	limit := f.Limit
	if limit == 0 {
		limit = mostReadings
	}
	return store.All(t.Tx, readingsList, scanReading, trial, f.After, f.Method, f.Dilution, f.Level, f.Reader, f.Session, f.Technique,
		f.Text, f.Vial, f.Excluded, f.Flagged, f.All, limit)
}

func scanReading(scan func(...any) error) (r Reading, err error) {
	var low, high sql.NullFloat64
	var flags string
	var excluded bool
	var e Exclusion
	err = scan(&r.ID, &r.Key, &r.Trial, &r.Vial, &r.Code, &r.Order, &r.Session, &r.Sitting, &r.Method, &r.VersionID, &r.Technique,
		&r.Reader, &r.Name, &r.Lot, &r.Known, &r.Level, &r.ULevel, &r.Role,
		&r.Text, &low, &high, &r.Dilution, &r.Replicate, &flags, &r.Note, &r.Photo, store.Time(&r.StartedAt), store.Time(&r.ReadAt), &r.OffBy,
		store.Time(&r.Kept.At), &r.Kept.Name, &r.Kept.Device, &r.Supersedes, &r.SupersededBy, &r.Why, &r.Withdrawn, &r.AfterKey,
		&excluded, store.Time(&e.At), &e.Name, &e.Device, &e.Why, &e.AfterKey, &r.Nitrite)
	r.Seen = interval.Interval{Low: low.Float64, High: high.Float64}
	r.Flags = splitFlags(flags)
	if excluded {
		r.Excluded = &e
	}
	return r, err
}

// Readings are the readings behind a number, in the order they were kept.
// Refused while the key is sealed (see SealedReadings).
func (b *Operations) Readings(ctx context.Context, by knownwater.Who, trial int64, f ReadingFilter) (list []Reading, err error) {
	err = b.read(ctx, func(t tx) error {
		if _, err := t.trialToJudge(by, trial); err != nil {
			return err
		}
		list, err = t.readings(trial, f)
		return err
	})
	return list, err
}

// SealedReadings are the readings of a trial for its owner while the key is
// shut: without level, known and role, so that a spilled vial can be excluded
// blind. Refused to a person who is a reader of the trial with readings still
// to take, because they must not see others' readings. Owner.
func (b *Operations) SealedReadings(ctx context.Context, by knownwater.Who, trial int64, f ReadingFilter) (list []Reading, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	if f.Level != nil {
		return nil, knownwater.Refuse(knownwater.Sealed, "the key is sealed")
	}
	err = b.read(ctx, func(t tx) error {
		if _, err := t.sealedTrial(trial); err != nil {
			return err
		}
		unread, err := store.One(t.Tx, "count", stillToRead, store.Value[int], by.Person, trial)
		if err != nil {
			return err
		}
		if unread > 0 {
			return knownwater.Refuse(knownwater.NotAllowed, "you have %d vials still to read: until then other readings stay hidden from you", unread)
		}
		list, err = t.readings(trial, f)
		return err
	})
	for i := range list {
		list[i].Known, list[i].Level, list[i].ULevel, list[i].Role = "", 0, 0, ""
	}
	return list, err
}

// Exclude leaves a reading out of the findings, or with out false takes it back
// in; either needs a why. It holds for the readings that correct it, too. Owner.
func (b *Operations) Exclude(ctx context.Context, by knownwater.Who, reading int64, out bool, why string) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	why, err := store.Reason(why)
	if err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		trial, err := store.One(t.Tx, "reading", trialOfReading, store.Value[int64], reading)
		if err != nil {
			return err
		}
		r, err := t.trial(trial)
		if err != nil {
			return err
		}
		s, err := store.One(t.Tx, "reading", stateByID, scanState, reading)
		if err != nil {
			return err
		}
		at, name, device := t.Stamp(by)
		if err := t.Exec(insertExclusion, s.root, out, why, r.keyOpen(), at, name, device); err != nil {
			return err
		}
		what := "left a reading out"
		if !out {
			what = "took a reading back in"
		}
		return t.Note(by, trial, what, why)
	})
}
