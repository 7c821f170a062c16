package methods

import (
	"context"
	"fmt"

	"knownwater"
	"knownwater/bench/store"
)

func checkLot(l *knownwater.Lot) knownwater.Faults {
	var fs knownwater.Faults
	store.Line(&fs, "code", &l.Code, true)
	store.Line(&fs, "chart_edition", &l.ChartEdition, false)
	store.Lines(&fs, "note", &l.Note)
	store.Day(&fs, "opened_on", &l.OpenedOn)
	store.Day(&fs, "expires_on", &l.ExpiresOn)
	if l.Tests < 0 || l.Tests > 1e6 {
		fs = append(fs, knownwater.Fault{Column: "tests", Found: fmt.Sprint(l.Tests), Want: "a number of tests, 0 if not known"})
	}
	return fs
}

// SaveLot adds a lot (ID 0) or mends its particulars; every change is recorded.
// Used and Made are ignored. Owner.
func (b *Operations) SaveLot(ctx context.Context, by knownwater.Who, l knownwater.Lot) (saved knownwater.Lot, err error) {
	if err := by.MustOwn(); err != nil {
		return knownwater.Lot{}, err
	}
	if fs := checkLot(&l); len(fs) > 0 {
		return knownwater.Lot{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		if n, err := store.One(t.Tx, "lot", lotSameCode, store.Value[int], l.MethodID, l.Code, l.ID); err != nil {
			return err
		} else if n > 0 {
			return knownwater.Faults{knownwater.Fault{Column: "code", Found: "this method has a lot %q", Want: "a code of its own"}.Of(l.Code)}
		}
		id, err := t.putLot(by, l)
		if err != nil {
			return err
		}
		saved, err = LotByID(t.Tx, id)
		return err
	})
	return saved, err
}

func (t tx) putLot(by knownwater.Who, l knownwater.Lot) (int64, error) {
	if l.ID == 0 {
		if _, err := kept.Latest(t.Tx, l.MethodID); err != nil {
			return 0, err
		}
		at, name, device := t.Stamp(by)
		id, err := t.Insert(insertLot, l.MethodID, l.Code, l.OpenedOn, l.ExpiresOn, l.ChartEdition, l.Tests, l.Note, l.Retired, at, name, device)
		if err != nil {
			return 0, err
		}
		return id, t.Note(by, 0, "added lot "+l.Code, "")
	}
	old, err := LotByID(t.Tx, l.ID)
	if err != nil {
		return 0, err
	}
	if err := t.Exec(updateLot, l.Code, l.OpenedOn, l.ExpiresOn, l.ChartEdition, l.Tests, l.Note, l.Retired, l.ID); err != nil {
		return 0, err
	}
	was := fmt.Sprintf("was code %q, opened %q, expires %q, chart edition %q, tests %d, note %q, retired %t",
		old.Code, old.OpenedOn, old.ExpiresOn, old.ChartEdition, old.Tests, old.Note, old.Retired)
	return l.ID, t.Note(by, 0, "changed lot "+old.Code, was)
}

// Lots are a method's lots, those in use first, newest first.
func (b *Operations) Lots(ctx context.Context, methodID int64) (ls []knownwater.Lot, err error) {
	err = b.read(ctx, func(t tx) error {
		ls, err = store.All(t.Tx, lotsOf, scanLot, methodID)
		return err
	})
	return ls, err
}
