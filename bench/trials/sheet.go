package trials

import (
	"context"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
)

// Label is what is printed on a vial: nothing that tells its level.
type Label struct {
	Vial    int64
	Code    string
	Session int
	Order   int // place in the run, over all sessions
	Method  string
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

// What the book of events calls the looks at a sealed key.
const (
	sawPrepList    = "looked at the preparation list"
	exportedSealed = "exported the bench with this key sealed in it"
)

func sessionName(n int) string { return strconv.Itoa(n) }

// sealedTrial loads a trial that has vials in a run.
func (t tx) sealedTrial(id int64) (Trial, error) {
	r, err := t.trial(id)
	if err == nil && (r.State == Planned || r.Imported) {
		err = knownwater.Refuse(knownwater.WrongState, "the trial has no sealed plan")
	}
	return r, err
}

// RunSheet is the run sheet of a session (0: all).
func (b *Operations) RunSheet(ctx context.Context, trial int64, session int) (rows []SheetRow, err error) {
	err = b.read(ctx, func(t tx) error {
		if _, err := t.sealedTrial(trial); err != nil {
			return err
		}
		rows, err = store.All(t.Tx, sheetRows, scanSheetRow, trial, session)
		return err
	})
	return rows, err
}

func scanSheetRow(scan func(...any) error) (r SheetRow, err error) {
	var start, read float64
	var names string
	err = scan(&r.Vial, &r.Code, &r.Session, &r.Order, &r.Method, &r.Technique, &r.Lot, &r.Dilution, &start, &read, &names)
	r.Start, r.Read = seconds(start), seconds(read)
	if names != "" {
		r.Readers = strings.Split(names, "\n") // a name is one line
	}
	return r, err
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// Labels are a sealed trial's vial labels in run order; session 0: all.
func (b *Operations) Labels(ctx context.Context, trial int64, session int) ([]Label, error) {
	rows, err := b.RunSheet(ctx, trial, session)
	var out []Label
	for _, r := range rows {
		out = append(out, r.Label)
	}
	return out, err
}

// PrepList tells whoever fills the vials what goes where. It shows the key, so
// every look is recorded by name and shown in the report. Owner.
func (b *Operations) PrepList(ctx context.Context, by knownwater.Who, trial int64) (list []PrepRow, err error) {
	if err := by.MustOwn(); err != nil {
		return nil, err
	}
	err = b.write(ctx, func(t tx) error {
		r, err := t.sealedTrial(trial)
		if err != nil {
			return err
		}
		list, err = t.prepList(r)
		if err != nil || r.keyOpen() {
			return err
		}
		return t.Note(by, trial, sawPrepList, "")
	})
	return list, err
}

func (t tx) prepList(r Trial) ([]PrepRow, error) {
	type row struct {
		known int
		label Label
	}
	rows, err := store.All(t.Tx, prepRows, func(scan func(...any) error) (w row, err error) {
		err = scan(&w.known, &w.label.Vial, &w.label.Code, &w.label.Session, &w.label.Order, &w.label.Method)
		return w, err
	}, r.ID)
	if err != nil {
		return nil, err
	}
	list := make([]PrepRow, len(r.Plan.Knowns))
	for i, k := range r.Plan.Knowns {
		list[i] = PrepRow{Known: k, Blank: k.isBlank()}
	}
	for _, w := range rows { // by known, session, order
		p := &list[w.known-1]
		if n := len(p.Sessions); n == 0 || p.Sessions[n-1].Session != w.label.Session {
			p.Sessions = append(p.Sessions, PrepVials{Session: w.label.Session})
		}
		s := &p.Sessions[len(p.Sessions)-1]
		s.Vials = append(s.Vials, w.label)
		p.Vials++
	}
	return list, nil
}
