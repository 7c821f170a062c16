package bench

import (
	"context"
	"fmt"
	"time"

	"knownwater"
	"knownwater/sqlite"
)

// Lot is one batch of a method's reagents.
type Lot struct {
	ID           int64
	MethodID     int64
	Code         string // as printed on the pack
	OpenedOn     string // 2026-03-01, empty if not yet opened or not known
	ExpiresOn    string // 2027-08-31, empty if not known
	ChartEdition string
	Tests        int // how many tests it holds when full; 0: not known
	Used         int // vials tested with it, over all trials
	Note         string
	Retired      bool // used up or thrown away
	Made         Stamp
}

var (
	insertLot = sqlite.SQL(`insert into lot (method_id, code, opened_on, expires_on, chart_edition, tests, note, retired, made_at, made_by, made_from)
		values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`)
	updateLot = sqlite.SQL(`update lot set code = ?, opened_on = ?, expires_on = ?, chart_edition = ?, tests = ?, note = ?, retired = ? where id = ?`)

	selectLot = `select l.id, l.method_id, l.code, l.opened_on, l.expires_on, l.chart_edition, l.tests,
		(select count(distinct vial_id) from reading where lot_id = l.id), l.note, l.retired, l.made_at, l.made_by, l.made_from from lot l `
	lotByID     = sqlite.SQL(selectLot + `where l.id = ?`)
	lotsOf      = sqlite.SQL(selectLot + `where l.method_id = ? order by l.retired, l.id desc`)
	lotSameCode = sqlite.SQL(`select count(*) from lot where method_id = ? and code = ? and id <> ?`)
)

func scanLot(scan func(...any) error) (l Lot, err error) {
	err = scan(&l.ID, &l.MethodID, &l.Code, &l.OpenedOn, &l.ExpiresOn, &l.ChartEdition, &l.Tests, &l.Used,
		&l.Note, &l.Retired, when{&l.Made.At}, &l.Made.Name, &l.Made.Device)
	return l, err
}

func (l *Lot) check() knownwater.Faults {
	var fs knownwater.Faults
	line(&fs, "code", &l.Code, true)
	line(&fs, "chart_edition", &l.ChartEdition, false)
	lines(&fs, "note", &l.Note)
	day(&fs, "opened_on", &l.OpenedOn)
	day(&fs, "expires_on", &l.ExpiresOn)
	if l.Tests < 0 || l.Tests > 1e6 {
		fs = append(fs, knownwater.Fault{Column: "tests", Found: fmt.Sprint(l.Tests), Want: "a number of tests, 0 if not known"})
	}
	return fs
}

// day tidies a date that may be empty.
func day(fs *knownwater.Faults, column string, s *string) {
	*s = tidy(*s)
	if _, err := time.Parse(time.DateOnly, *s); err != nil && *s != "" {
		*fs = append(*fs, knownwater.Fault{Column: column, Found: fmt.Sprintf("%q", *s), Want: "a date like 2026-03-01"})
	}
}

// SaveLot adds a lot (ID 0) or mends its particulars; every change is recorded.
// Used and Made are ignored. Owner.
func (b *Bench) SaveLot(ctx context.Context, by Who, l Lot) (saved Lot, err error) {
	if err := by.mustOwn(); err != nil {
		return Lot{}, err
	}
	if fs := l.check(); len(fs) > 0 {
		return Lot{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		if n, err := one(t, "lot", lotSameCode, value[int], l.MethodID, l.Code, l.ID); err != nil {
			return err
		} else if n > 0 {
			return knownwater.Faults{{Column: "code", Found: fmt.Sprintf("this method has a lot %q", l.Code), Want: "a code of its own"}}
		}
		id, err := t.putLot(by, l)
		if err != nil {
			return err
		}
		saved, err = one(t, "lot", lotByID, scanLot, id)
		return err
	})
	return saved, err
}

func (t tx) putLot(by Who, l Lot) (int64, error) {
	if l.ID == 0 {
		if _, err := one(t, "method", methodLatest, scanMethod, l.MethodID); err != nil {
			return 0, err
		}
		at, name, device := t.stamp(by)
		id, err := t.insert(insertLot, l.MethodID, l.Code, l.OpenedOn, l.ExpiresOn, l.ChartEdition, l.Tests, l.Note, l.Retired, at, name, device)
		if err != nil {
			return 0, err
		}
		return id, t.note(by, 0, "added lot "+l.Code, "")
	}
	old, err := one(t, "lot", lotByID, scanLot, l.ID)
	if err != nil {
		return 0, err
	}
	if err := t.exec(updateLot, l.Code, l.OpenedOn, l.ExpiresOn, l.ChartEdition, l.Tests, l.Note, l.Retired, l.ID); err != nil {
		return 0, err
	}
	return l.ID, t.note(by, 0, "changed lot "+old.Code, "was "+old.describe())
}

// describe is the lot's particulars, for the book of events.
func (l Lot) describe() string {
	return fmt.Sprintf("code %q, opened %q, expires %q, chart edition %q, tests %d, note %q, retired %t",
		l.Code, l.OpenedOn, l.ExpiresOn, l.ChartEdition, l.Tests, l.Note, l.Retired)
}

// Lots are a method's lots, those in use first, newest first.
func (b *Bench) Lots(ctx context.Context, methodID int64) (ls []Lot, err error) {
	err = b.read(ctx, func(t tx) error {
		ls, err = all(t, lotsOf, scanLot, methodID)
		return err
	})
	return ls, err
}
