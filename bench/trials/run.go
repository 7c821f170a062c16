package trials

import (
	"context"
	"errors"
	"time"

	"knownwater"
	"knownwater/bench/store"
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
	VersionID int64                 `json:"version_id"`
	Spec      knownwater.MethodSpec `json:"spec"`
	Lots      []RunLot              `json:"lots"`
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
	Read      float64    `json:"read"`          // when its reading falls due, likewise
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

// MyTrial is one line of a reader's list.
type MyTrial struct {
	Trial    int64
	Title    string
	State    State
	Done, Of int
}

// Run is the reader by.Person's view of a session; session 0: the first one
// that this reader has not finished. Refused to persons that the plan does not
// name, owners among them.
func (b *Operations) Run(ctx context.Context, by knownwater.Who, trial int64, session int) (run Run, err error) {
	err = b.read(ctx, func(t tx) error {
		r, err := t.sealedTrial(trial)
		if err != nil {
			return err
		}
		person, err := t.from.Person(t.Tx, by.Person)
		if errors.Is(err, &knownwater.Refusal{Kind: knownwater.NotFound}) {
			return errNotInPlan
		}
		if err != nil {
			return err
		}
		run = Run{Trial: trial, Title: r.Plan.Title, State: r.State, Reader: person.ID, Name: person.Name,
			Session: session, Sessions: r.Plan.Sessions, Now: t.Now}
		return t.fillRun(&run)
	})
	return run, err
}

var errNotInPlan = knownwater.Refuse(knownwater.NotAllowed, "the plan does not name you as a reader of this trial")

// runRow is a vial of this reader with the session it belongs to.
type runRow struct {
	RunVial
	session int
}

func (t tx) fillRun(run *Run) error {
	rows, err := store.All(t.Tx, myVials, scanRunRow, run.Reader, run.Trial)
	if err != nil {
		return err
	}
	if len(rows) == 0 {
		return errNotInPlan
	}
	mine, err := t.mine(run.Reader, run.Trial)
	if err != nil {
		return err
	}
	run.Of, run.Done = len(rows), len(mine)
	if run.Session == 0 {
		run.Session = firstUnread(rows, mine)
	}
	methods := map[int64]bool{}
	for _, row := range rows {
		if row.session != run.Session {
			continue
		}
		v := row.RunVial
		v.Mine = mine[v.ID]
		run.Vials = append(run.Vials, v)
		if !methods[v.Method] {
			methods[v.Method] = true
			m, err := t.runMethod(v.Method)
			if err != nil {
				return err
			}
			run.Methods = append(run.Methods, m)
		}
	}
	if len(run.Vials) == 0 {
		return knownwater.Refuse(knownwater.NotFound, "session %d has no vials for you", run.Session)
	}
	return nil
}

// firstUnread is the session of the first vial not yet read, else the last one.
func firstUnread(rows []runRow, mine map[int64][]Mine) int {
	for _, r := range rows {
		if len(mine[r.ID]) == 0 {
			return r.session
		}
	}
	return rows[len(rows)-1].session
}

func scanRunRow(scan func(...any) error) (r runRow, err error) {
	var started time.Time
	err = scan(&r.ID, &r.Code, &r.session, &r.Order, &r.Method, &r.Technique, &r.Lot, &r.Dilution, &r.Start, &r.Read, store.Time(&started))
	if !started.IsZero() {
		r.Started = &started
	}
	return r, err
}

// mine are a reader's standing readings, by vial.
func (t tx) mine(reader, trial int64) (map[int64][]Mine, error) {
	out := map[int64][]Mine{}
	_, err := store.All(t.Tx, myReadings, func(scan func(...any) error) (m Mine, err error) {
		var vial int64
		var flags string
		err = scan(&vial, &m.ID, &m.Key, &m.Text, &m.Dilution, &m.Replicate, &flags, &m.Note, store.Time(&m.ReadAt))
		m.Flags = splitFlags(flags)
		out[vial] = append(out[vial], m)
		return m, err
	}, reader, trial)
	return out, err
}

func (t tx) runMethod(versionID int64) (RunMethod, error) {
	m, err := t.from.Described(t.Tx, versionID)
	if err != nil {
		return RunMethod{}, err
	}
	lots, err := t.from.Lots(t.Tx, m.ID)
	out := RunMethod{VersionID: versionID, Spec: m.Spec}
	for _, l := range lots {
		if !l.Retired {
			out.Lots = append(out.Lots, RunLot{l.ID, l.Code})
		}
	}
	return out, err
}

// MyTrials are the trials that wait for by.Person's readings.
func (b *Operations) MyTrials(ctx context.Context, by knownwater.Who) (list []MyTrial, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, myTrials, func(scan func(...any) error) (m MyTrial, err error) {
			err = scan(&m.Trial, &m.Title, &m.State, &m.Of, &m.Done)
			return m, err
		}, by.Person)
		return err
	})
	return list, err
}

// ReadTrials are the last finished trials that by.Person read for, newest first:
// their findings are open to their readers.
func (b *Operations) ReadTrials(ctx context.Context, by knownwater.Who, most int) (list []MyTrial, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, readTrials, func(scan func(...any) error) (m MyTrial, err error) {
			err = scan(&m.Trial, &m.Title, &m.State)
			return m, err
		}, by.Person, most)
		return err
	})
	return list, err
}
