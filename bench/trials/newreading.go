package trials

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/interval"
	"knownwater/science/reading"
)

// Flag is something a reader saw go wrong at a vial.
type Flag string

// The flags.
const (
	Late    Flag = "late"
	Spilled Flag = "spilled"
	Bubbles Flag = "bubbles"
	Other   Flag = "other" // say what in the note
)

// Flags are all the flags, for a form.
var Flags = []Flag{Late, Spilled, Bubbles, Other}

// NewReading is what a phone sends.
type NewReading struct {
	// Key is made by the phone once for this reading, 16 to 64 letters, digits
	// or hyphens. A reading sent again under its key is kept exactly once, and
	// the answer is the same.
	Key       string    `json:"key"`
	Vial      int64     `json:"vial"`
	Reader    int64     `json:"reader,omitempty"` // 0: who sends it; an owner may type in another's paper sheet
	Text      string    `json:"text"`             // reading notation; empty with a flag: no reading was possible
	Dilution  float64   `json:"dilution"`         // 0: as planned
	Replicate int       `json:"replicate"`        // 0: the first
	Lot       int64     `json:"lot"`              // 0: as planned
	Flags     []Flag    `json:"flags"`
	Note      string    `json:"note"`
	Photo     string    `json:"photo"`      // what KeepPhoto answered
	StartedAt time.Time `json:"started_at"` // by the phone's clock, corrected by Run.Now; zero: not known
	ReadAt    time.Time `json:"read_at"`
}

// Kept is the answer to a reading: it is on the disk.
type Kept struct {
	ID     int64     `json:"id"`
	Key    string    `json:"key"`
	KeptAt time.Time `json:"kept_at"`
	Again  bool      `json:"again"`  // had been kept before
	OffBy  float64   `json:"off_by"` // seconds after (or, below 0, before) the reading window; 0: within, or not known
}

// VialStart says that the procedure of a vial has begun.
type VialStart struct {
	Key       string    `json:"key"` // made by the phone, once for this start
	Vial      int64     `json:"vial"`
	StartedAt time.Time `json:"started_at"`
}

// tidied is what was sent, as it is kept, or its faults.
func (r NewReading) tidied(by knownwater.Who) (NewReading, error) {
	var fs knownwater.Faults
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	store.Line(&fs, "text", &r.Text, false)
	store.Lines(&fs, "note", &r.Note)
	r.Flags = slices.Compact(slices.Sorted(slices.Values(r.Flags)))
	for _, f := range r.Flags {
		if !slices.Contains(Flags, f) {
			wrong("flags", "flag %.40q", "late, spilled, bubbles or other", f)
		}
	}
	if r.Text == "" && len(r.Flags) == 0 {
		wrong("text", "no reading", "what was seen, or a flag that says why nothing could be")
	}
	if r.Replicate == 0 {
		r.Replicate = 1
	}
	if r.Replicate < 0 || r.Replicate > 1000 {
		wrong("replicate", fmt.Sprint(r.Replicate), "1 to 1000")
	}
	if r.Dilution != 0 && !(r.Dilution >= 1 && r.Dilution <= 1e6) {
		wrong("dilution", fmt.Sprint(r.Dilution), "the factor, 1 or more")
	}
	if r.Reader == 0 {
		r.Reader = by.Person
	}
	if err := store.CheckKey(r.Key); err != nil {
		fs = append(fs, err.(knownwater.Faults)...)
	}
	return r, store.OrNil(fs)
}

// digest is of what makes a reading this reading, to tell a repeat from another
// reading under the same key. Times are left out: a phone may learn better what
// time it is before it sends again.
func (r NewReading) digest(supersedes int64, withdrawn bool, why string) string {
	return store.Digest(fmt.Sprintf("%d|%d|%q|%g|%d|%d|%v|%q|%q|%d|%t|%q",
		r.Vial, r.Reader, r.Text, r.Dilution, r.Replicate, r.Lot, r.Flags, r.Note, r.Photo, supersedes, withdrawn, why))
}

// vialToRead is what must be known of a vial to take a reading of it.
type vialToRead struct {
	trial, version, lot int64
	state               State
	dilution, uDilution float64
	reads               bool // the reader is one of the vial's
	started             time.Time
	spec                knownwater.MethodSpec
	method              int64
}

func (t tx) vialToRead(vial, reader int64) (vialToRead, error) {
	return store.One(t.Tx, "vial", vialToReadByID, func(scan func(...any) error) (v vialToRead, err error) {
		err = scan(&v.trial, &v.version, &v.lot, &v.state, &v.dilution, &v.uDilution, &v.reads, store.Time(&v.started), store.JSON(&v.spec), &v.method)
		return v, err
	}, vial, reader)
}

// mayRead refuses readings that are not the reader's to take, or not now.
func (v vialToRead) mayRead(by knownwater.Who, reader int64) error {
	switch {
	case reader == 0:
		return knownwater.Refuse(knownwater.NotAllowed, "say first who is reading")
	case reader != by.Person && by.Role != knownwater.Owner:
		return knownwater.Refuse(knownwater.NotAllowed, "this is another person's reading")
	case !v.reads:
		return knownwater.Refuse(knownwater.NotAllowed, "the plan does not give this vial to this reader")
	case v.state == Finished:
		return knownwater.Refuse(knownwater.WrongState, "the trial is finished: it takes no more readings")
	}
	return nil
}

// StartVial notes a start, so that a reload or a second reader's phone shows
// the same countdown. The latest start counts (a vial begun again); one sent
// twice is kept once.
func (b *Operations) StartVial(ctx context.Context, by knownwater.Who, s VialStart) error {
	if err := store.CheckKey(s.Key); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		v, err := t.vialToRead(s.Vial, by.Person)
		if err != nil {
			return err
		}
		if err := v.mayRead(by, by.Person); err != nil {
			return err
		}
		if err := t.plausible("started_at", s.StartedAt); err != nil {
			return err
		}
		if s.StartedAt.IsZero() {
			s.StartedAt = t.Now
		}
		at, name, device := t.Stamp(by)
		if err := t.Exec(insertStart, s.Key, s.Vial, by.Person, store.TimeText(s.StartedAt), at, name, device); err != nil {
			return err
		}
		return t.Exec(beginTrial, v.trial)
	})
}

// understood is a reading ready to be written.
type understood struct {
	NewReading
	vial       vialToRead
	seen       *interval.Interval // nil: no reading was possible
	offBy      float64
	uDilution  float64
	supersedes int64
	root       int64
	withdrawn  bool
	why        string
	digest     string
}

// understand checks what was sent against its vial and method.
func (t tx) understand(by knownwater.Who, r NewReading) (understood, error) {
	v, err := t.vialToRead(r.Vial, r.Reader)
	if err != nil {
		return understood{}, err
	}
	if err := v.mayRead(by, r.Reader); err != nil {
		return understood{}, err
	}
	u := understood{NewReading: r, vial: v}
	if err := u.fillIn(t, by); err != nil {
		return u, err
	}
	if r.Text == "" {
		return u, nil
	}
	seen, err := reading.Understand(r.Text, v.spec.Method())
	if f, ok := err.(knownwater.Fault); ok {
		f.Column = "text"
		return u, knownwater.Faults{f}
	}
	u.seen = &seen
	return u, err
}

// fillIn puts the planned lot and dilution where none was sent, and works out
// whether the reading fell into its window.
func (u *understood) fillIn(t tx, by knownwater.Who) error {
	v := u.vial
	if u.Dilution == 0 {
		u.Dilution = v.dilution
	}
	switch {
	case u.Dilution == v.dilution:
		u.uDilution = v.uDilution
	case u.Dilution == v.spec.Dilution.By():
		u.uDilution = v.spec.Dilution.U()
	}
	if u.Lot == 0 {
		u.Lot = v.lot
	} else if n, err := store.One(t.Tx, "lot", lotOfMethod, store.Value[int], u.Lot, v.method); err != nil {
		return err
	} else if n == 0 {
		return knownwater.Faults{knownwater.Fault{Column: "lot", Found: "a lot of another method", Want: "a lot of %s"}.Of(v.spec.Name)}
	}
	if u.Photo != "" { // a reader's own: else who learns the name of another's could open it
		if n, err := store.One(t.Tx, "photo", photoThere, store.Value[int], u.Photo, by.Role == knownwater.Owner, by.Person); err != nil {
			return err
		} else if n == 0 {
			return knownwater.Faults{{Column: "photo", Found: "a photo that has not been sent", Want: "send the photo first"}}
		}
	}
	for _, at := range []struct {
		column string
		time   time.Time
	}{{"started_at", u.StartedAt}, {"read_at", u.ReadAt}} {
		if err := t.plausible(at.column, at.time); err != nil {
			return err
		}
	}
	if u.StartedAt.IsZero() {
		u.StartedAt = v.started
	}
	if u.ReadAt.IsZero() {
		u.ReadAt = t.Now
	}
	u.offBy = secondsOff(v.spec.Steps, u.StartedAt, u.ReadAt)
	return nil
}

// longAgo is before any reading that this program could have been given.
var longAgo = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// plausible refuses a time that no clock shows which was ever set: more than a day
// ahead, or long past. The zero time stands for none.
func (t tx) plausible(column string, at time.Time) error {
	if at.IsZero() || at.After(longAgo) && at.Before(t.Now.Add(24*time.Hour)) {
		return nil
	}
	return knownwater.Faults{{Column: column, Found: at.UTC().Format("2006-01-02 15:04"), Want: "a time from the year 2000 to now: see whether the phone's clock is set"}}
}

// secondsOff is how many seconds a reading was taken after its window had closed, or
// (below 0) before it fell due; 0 where there is no window or no start.
func secondsOff(steps []knownwater.Step, started, read time.Time) float64 {
	if len(steps) == 0 || steps[len(steps)-1].Within == 0 || started.IsZero() || read.Before(started) {
		return 0
	}
	due := 0.0
	for _, s := range steps[:len(steps)-1] {
		due += s.Seconds
	}
	took := read.Sub(started).Seconds()
	if took < due {
		return took - due
	}
	return max(0, took-due-steps[len(steps)-1].Within)
}

// put writes a reading.
func (t tx) put(by knownwater.Who, u understood) (Kept, error) {
	var low, high any
	if u.seen != nil {
		low, high = u.seen.Low, u.seen.High
	}
	at, name, device := t.Stamp(by)
	id, err := t.Insert(insertReading, u.Key, u.digest, u.vial.trial, u.Vial, u.Reader, u.Replicate, u.Dilution, u.uDilution, u.Lot,
		u.Text, low, high, joinFlags(u.Flags), u.Note, u.Photo, store.TimeText(u.StartedAt), store.TimeText(u.ReadAt), u.offBy,
		u.vial.state == Opened, u.withdrawn, u.supersedes, u.root, u.why, 0, at, name, device)
	if err != nil {
		return Kept{}, err
	}
	return Kept{ID: id, Key: u.Key, KeptAt: t.Now, OffBy: u.offBy}, t.Exec(beginTrial, u.vial.trial)
}

func joinFlags(fs []Flag) string {
	s := make([]string, len(fs))
	for i, f := range fs {
		s[i] = string(f)
	}
	return strings.Join(s, ",")
}

func splitFlags(s string) (fs []Flag) {
	for f := range strings.SplitSeq(s, ",") {
		if f != "" {
			fs = append(fs, Flag(f))
		}
	}
	return fs
}
