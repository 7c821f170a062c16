package bench

import (
	"context"
	"io"
	"time"

	"knownwater"
	"knownwater/science/assess"
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
	Method    string
	VersionID int64
	Technique string
	Reader    int64
	Name      string
	Lot       string
	Known     string // label
	Level     float64
	ULevel    float64
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
	Kept      Stamp

	Supersedes   int64  // the reading that this one corrects
	SupersededBy int64  // 0: stands
	Why          string // why it was corrected
	Withdrawn    bool   // taken back
	AfterKey     bool   // taken after the key was opened
	Excluded     *Exclusion
}

// Exclusion leaves a reading out of the findings, with the reason.
type Exclusion struct {
	Stamp
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
}

// Readings are the readings behind a number, in the order they were kept.
// Refused while the key is sealed (see OwnReadings, Flagged).
func (b *Bench) Readings(ctx context.Context, by Who, trial int64, f ReadingFilter) ([]Reading, error) {
	return nil, errNotYet
}

// SealedReadings are the readings of a trial for its owner while the key is
// shut: without level, known and role, so that a spilled vial can be excluded
// blind. Refused to a person who is a reader of the trial with readings still
// to take, because they must not see others' readings. Owner.
func (b *Bench) SealedReadings(ctx context.Context, by Who, trial int64, f ReadingFilter) ([]Reading, error) {
	return nil, errNotYet
}

// Exclude leaves a reading out of the findings, or with out false takes it back
// in; either needs a why. It holds for the readings that correct it, too. Owner.
func (b *Bench) Exclude(ctx context.Context, by Who, reading int64, out bool, why string) error {
	return errNotYet
}

// Standing is a trial's findings from the readings so far.
type Standing struct {
	Trial      Trial
	Findings   assess.Findings
	Data       knownwater.Trial // what they were computed from
	Unfinished bool             // the stop rule is not met
	Taken      int
	Planned    int
	Excluded   []Reading // left out, with reasons
	Dropped    []Reading // superseded, withdrawn, or no reading possible
	Notes      []string  // about the trial: key opened early, readings after that, window misses …
}

// FindingsOptions say which findings are wanted.
type FindingsOptions struct {
	WithExcluded bool   // the other way: with the excluded readings in
	HideNames    bool   // readers by alias
	Version      string // of the program, for the findings
}

// Findings are computed from the readings so far; refused while the key is
// sealed. They are remembered until something changes, so that asking again is
// quick. Owner, and readers of the trial once it is finished.
func (b *Bench) Findings(ctx context.Context, by Who, trial int64, o FindingsOptions) (Standing, error) {
	return Standing{}, errNotYet
}

// TrialData is the trial as a data set, the same that an assessment from files
// has; refused while the key is sealed.
func (b *Bench) TrialData(ctx context.Context, by Who, trial int64, o FindingsOptions) (knownwater.Trial, error) {
	return knownwater.Trial{}, errNotYet
}

// ImportTrial keeps a data set as a finished trial. Methods and people of the
// same name are used where their description is the same, else a new version
// or a new person is made. Owner.
func (b *Bench) ImportTrial(ctx context.Context, by Who, t knownwater.Trial, title, source string) (Trial, error) {
	return Trial{}, errNotYet
}

// Export writes everything on the bench, but for passphrase, sessions and
// pairings, as plain CSV and TOML in a zip. While a key is sealed it is noted in
// the trial that its key went out with an export. Owner.
func (b *Bench) Export(ctx context.Context, by Who, w io.Writer) error { return errNotYet }

// Import fills a new bench file at path from an export. It refuses a path where
// something already is, and a zip that is damaged, hostile or of a newer
// program; then nothing is left at path.
func Import(ctx context.Context, r io.ReaderAt, size int64, path string) error { return errNotYet }

// Backup writes a copy of the bench to a new file at path while it is in use,
// and checks the copy. Owner.
func (b *Bench) Backup(ctx context.Context, by Who, path string) (Copy, error) {
	return Copy{}, errNotYet
}

// Copy says what a backup or a restore holds.
type Copy struct {
	Path     string
	Bytes    int64
	Trials   int
	Readings int
	Last     time.Time // newest reading
}

// Restore checks a backup and puts it at path. What stood at path is kept beside
// it under a name with the time in it. Refused while the bench at path is open.
func Restore(ctx context.Context, backup, path string, now time.Time) (Copy, error) {
	return Copy{}, errNotYet
}
