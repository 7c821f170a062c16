package bench

import (
	"context"
	"io"
	"time"

	"knownwater/science/plan"
)

// Run is what the run screen of one reader shows: a session's vials in run
// order. It can be kept on the phone: all it needs to go on without connection.
type Run struct {
	Trial    int64       `json:"trial"`
	Title    string      `json:"title"`
	State    State       `json:"state"`
	Reader   int64       `json:"reader"`
	Name     string      `json:"name"`
	Session  int         `json:"session"`
	Sessions int         `json:"sessions"`
	Done     int         `json:"done"` // by this reader, over all sessions
	Of       int         `json:"of"`
	Methods  []RunMethod `json:"methods"`
	Vials    []RunVial   `json:"vials"`
	Now      time.Time   `json:"now"` // the server's clock, so that a phone can tell how far its own is off
}

// RunMethod is what the pad needs of a method.
type RunMethod struct {
	VersionID int64      `json:"version_id"`
	Spec      MethodSpec `json:"spec"`
	Lots      []RunLot   `json:"lots"`
}

// RunLot is a lot to choose at the vial.
type RunLot struct {
	ID   int64  `json:"id"`
	Code string `json:"code"`
}

// RunVial is all that a reader may know of a vial. It has no place for the
// level, the vial's role, the key or anybody else's reading; keep it so.
type RunVial struct {
	ID        int64      `json:"id"`
	Code      string     `json:"code"`
	Order     int        `json:"order"`
	Method    int64      `json:"method"` // RunMethod.VersionID
	Technique string     `json:"technique,omitempty"`
	Lot       int64      `json:"lot,omitempty"` // planned
	Dilution  float64    `json:"dilution"`      // planned; 1: undiluted
	Start     float64    `json:"start"`         // seconds after the session's start, so that timers do not collide
	Started   *time.Time `json:"started,omitempty"`
	Mine      []Mine     `json:"mine,omitempty"` // what this reader has read, newest last
}

// Mine is a reading as its own reader sees it again.
type Mine struct {
	ID        int64     `json:"id"`
	Key       string    `json:"key"`
	Text      string    `json:"text"`
	Dilution  float64   `json:"dilution"`
	Replicate int       `json:"replicate"`
	Flags     []Flag    `json:"flags,omitempty"`
	Note      string    `json:"note,omitempty"`
	ReadAt    time.Time `json:"read_at"`
}

// Run is the reader by.Person's view of a session; session 0: the first one
// that this reader has not finished. Refused to persons that the plan does not
// name, owners among them.
func (b *Bench) Run(ctx context.Context, by Who, trial int64, session int) (Run, error) {
	return Run{}, errNotYet
}

// MyTrials are the trials that wait for by.Person's readings.
func (b *Bench) MyTrials(ctx context.Context, by Who) ([]MyTrial, error) { return nil, errNotYet }

// MyTrial is one line of a reader's list.
type MyTrial struct {
	Trial    int64
	Title    string
	State    State
	Done, Of int
}

// VialStart says that the procedure of a vial has begun.
type VialStart struct {
	Key       string    `json:"key"` // made by the phone, once for this start
	Vial      int64     `json:"vial"`
	StartedAt time.Time `json:"started_at"`
}

// StartVial notes a start, so that a reload or a second reader's phone shows
// the same countdown. The latest start counts (a vial begun again); one sent
// twice is kept once.
func (b *Bench) StartVial(ctx context.Context, by Who, s VialStart) error { return errNotYet }

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
	Text      string    `json:"text"`      // reading notation; empty with a flag: no reading was possible
	Dilution  float64   `json:"dilution"`  // 0: as planned
	Replicate int       `json:"replicate"` // 0: the first
	Lot       int64     `json:"lot"`       // 0: as planned
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

// KeepReading keeps by.Person's reading of a vial. When it returns without an
// error the reading is on the disk. Refused: AlreadyRead where this person has
// read the vial (another key), NotAllowed where the vial is not theirs,
// WrongState before sealing and after finishing, Faults where the text is no
// reading of this method.
func (b *Bench) KeepReading(ctx context.Context, by Who, r NewReading) (Kept, error) {
	return Kept{}, errNotYet
}

// CorrectReading supersedes a reading (by its ID) with another, and needs a
// why. The old one stays. A reader corrects their own, an owner anybody's.
// For undo see TakeBack.
func (b *Bench) CorrectReading(ctx context.Context, by Who, old int64, r NewReading, why string) (Kept, error) {
	return Kept{}, errNotYet
}

// TakeBack withdraws by.Person's own reading: undo. The vial then counts as not
// read and can be read anew (by CorrectReading or by KeepReading); what was
// taken back stays in the records as withdrawn. old is the Key of the reading,
// so that a phone can undo what it has not yet had an answer for; key is the
// new entry's own.
func (b *Bench) TakeBack(ctx context.Context, by Who, old, key string) (Kept, error) {
	return Kept{}, errNotYet
}

// MostPhotoBytes is the largest photo that is kept.
const MostPhotoBytes = 12 << 20

// KeepPhoto keeps a JPEG or PNG and answers the name to put into a reading. The
// same picture sent twice is kept once.
func (b *Bench) KeepPhoto(ctx context.Context, by Who, r io.Reader) (name string, err error) {
	return "", errNotYet
}

// Photo is a kept photo and its media type. A reader gets their own only.
func (b *Bench) Photo(ctx context.Context, by Who, name string) (data []byte, mediaType string, err error) {
	return nil, "", errNotYet
}

// Step is one timed step of a procedure.
type Step = plan.Step
