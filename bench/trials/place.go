package trials

import (
	"context"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

// Place is where a trial stands.
type Place string

// The places: in the lists; put away, to be looked at; taken out, because it should not
// be there, such as one that was brought in wrongly. All can be gone back on.
const (
	Here     Place = "here"
	Archived Place = "archived"
	Removed  Place = "removed"
)

// Placing is one line of where a trial stood and what it was called.
type Placing struct {
	Title string
	Place Place
	Why   string
	knownwater.Stamp
}

var (
	insertPlace = sqlite.SQL(`insert into trial_place (trial_id, title, place, why, at, by_name, by_from) values (?, ?, ?, ?, ?, ?, ?)`)
	placesOf    = sqlite.SQL(`select title, place, why, at, by_name, by_from from trial_place where trial_id = ? order by id`)
)

// PlaceTrial gives a trial another title, puts it away, takes it out, or brings it back. Its
// readings, its key and what was computed from it stay; a new record is not made of one that
// was taken out. Owner. A plan that is not sealed yet is changed or thrown away instead.
func (b *Operations) PlaceTrial(ctx context.Context, by knownwater.Who, trial int64, to Placing) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	var fs knownwater.Faults
	store.Line(&fs, "title", &to.Title, true)
	store.Lines(&fs, "why", &to.Why)
	if to.Why == "" {
		fs = append(fs, knownwater.Fault{Column: "why", Found: "no reason", Want: "why, in a few words: it stands in the trial’s history"})
	}
	if fs != nil {
		return fs
	}
	return b.write(ctx, func(t tx) error {
		r, err := t.trialIn(trial, SealedUp, Running, Opened, Finished)
		if err != nil {
			return err
		}
		if r.Plan.Title == to.Title && r.Place == to.Place {
			return knownwater.Faults{{Column: "title", Found: "nothing changes", Want: "another title"}}
		}
		return t.setPlace(by, r, to)
	})
}

// UndoPlace goes back to how a trial was called and where it stood before the last change.
// Owner.
func (b *Operations) UndoPlace(ctx context.Context, by knownwater.Who, trial int64) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		r, err := t.trial(trial)
		if err != nil {
			return err
		}
		list, err := store.All(t.Tx, placesOf, scanPlacing, trial)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			return knownwater.Refuse(knownwater.WrongState, "there is nothing to undo")
		}
		before := Placing{Title: r.Planned, Place: Here}
		if len(list) > 1 {
			before = list[len(list)-2]
		}
		before.Why = "undone: " + list[len(list)-1].Why
		return t.setPlace(by, r, before)
	})
}

func (t tx) setPlace(by knownwater.Who, r Trial, to Placing) error {
	at, name, device := t.Stamp(by)
	if err := t.Exec(insertPlace, r.ID, to.Title, to.Place, to.Why, at, name, device); err != nil {
		return err
	}
	if to.Title != r.Plan.Title {
		if err := t.Note(by, r.ID, "renamed, from “"+r.Plan.Title+"” to “"+to.Title+"”", to.Why); err != nil {
			return err
		}
	}
	if to.Place == r.Place {
		return nil
	}
	return t.Note(by, r.ID, map[Place]string{Here: "brought back into the lists", Archived: "put away", Removed: "taken out"}[to.Place], to.Why)
}

func scanPlacing(scan func(...any) error) (p Placing, err error) {
	err = scan(&p.Title, &p.Place, &p.Why, store.Time(&p.At), &p.Name, &p.Device)
	return p, err
}
