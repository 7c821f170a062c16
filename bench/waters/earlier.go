package waters

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/history"
	"knownwater/sqlite"
)

// EarlierLog is a log that was kept elsewhere before, as it was brought in.
type EarlierLog struct {
	ID       int64
	Name     string // of its file
	Digest   string // of its bytes
	Said     EarlierSaid
	Readings int
	Made     knownwater.Stamp
	Removed  bool
	Why      string // it was taken out, or put back
}

// EarlierSaid is what somebody said of the table of a log.
type EarlierSaid struct {
	Columns map[string]string `json:"columns,omitempty"` // what is what, by their headings
	Sheet   string            `json:"sheet,omitempty"`
	Method  string            `json:"method,omitempty"` // of rows that name none
	Water   string            `json:"water,omitempty"`
	Lot     string            `json:"lot,omitempty"`
	Dates   string            `json:"dates,omitempty"`
	// Kinds describes the methods that are none of the bench's.
	Kinds map[string]knownwater.Method `json:"kinds,omitempty"`
}

// EarlierRow is a row of an earlier log: Entry.Row is that of the file. Water 0 without a check: a new water
// of the entry's name.
type EarlierRow struct {
	ID, Log       int64
	Water, Method int64 // Method 0: none of the bench's
	Rest          string
	history.Entry
}

// mostEarlier rows are brought in at once.
const mostEarlier = 20_000

var (
	insertEarlier    = sqlite.SQL(`insert into earlier_log (name, digest, said, readings, made_at, made_by, made_from) values (?, ?, ?, ?, ?, ?, ?)`)
	insertEarlierRow = sqlite.SQL(`insert into earlier_row (log_id, source_row, water_id, method, method_id, taken_at, reading, lot, reader, technique, pair, dilution, known, u_known, rest, nitrite, u_nitrite)
		values (?, ?, nullif(?, 0), ?, nullif(?, 0), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`)
	insertEarlierPlace = sqlite.SQL(`insert into earlier_log_place (log_id, place, why, at, by_name, by_from) values (?, ?, ?, ?, ?, ?)`)
	earlierPlace       = `coalesce((select place from earlier_log_place p where p.log_id = l.id order by p.id desc limit 1), 'here')`
	earlierLogs        = sqlite.SQL(`select l.id, l.name, l.digest, l.said, l.readings, l.made_at, l.made_by, l.made_from, ` + earlierPlace + `,
		coalesce((select why from earlier_log_place p where p.log_id = l.id order by p.id desc limit 1), '') from earlier_log l order by l.id desc`)
	selectEarlierRow = `select r.id, r.log_id, r.source_row, coalesce(r.water_id, 0), r.method, coalesce(r.method_id, 0), r.taken_at, r.reading, r.lot, r.reader, r.technique, r.pair, r.dilution, r.known, r.u_known, r.rest, r.nitrite, r.u_nitrite from earlier_row r `
	everyEarlierRow  = sqlite.SQL(selectEarlierRow + `order by r.id`)
	earlierRows      = sqlite.SQL(selectEarlierRow + `join earlier_log l on l.id = r.log_id where (r.water_id = ? or r.water_id is null) and ` + earlierPlace + ` = 'here' order by r.id`)
)

// KeepEarlierLog brings in a log, all of it or nothing, with the waters that it names and the bench does not know. Owner.
func (b *Operations) KeepEarlierLog(ctx context.Context, by knownwater.Who, l EarlierLog, rows []EarlierRow) (kept EarlierLog, err error) {
	if err := by.MustOwn(); err != nil {
		return kept, err
	}
	var fs knownwater.Faults
	store.Line(&fs, "name", &l.Name, true)
	if len(rows) == 0 || len(rows) > mostEarlier {
		fs = append(fs, knownwater.Fault{File: l.Name, Found: "%d rows", Want: "1 to %d: a longer log in parts, year by year"}.Of(len(rows), mostEarlier))
	}
	for i := range rows {
		fs = append(fs, checkEarlier(l.Name, &rows[i])...)
	}
	if len(fs) > 0 {
		return kept, fs
	}
	said, err := store.ToJSON(l.Said)
	if err != nil {
		return kept, store.NoNumber()
	}
	err = b.write(ctx, func(t tx) error {
		there, err := store.All(t.Tx, earlierLogs, scanEarlier)
		if err != nil {
			return err
		}
		for _, o := range there {
			if o.Digest == l.Digest && !o.Removed {
				return knownwater.Faults{knownwater.Fault{File: l.Name, Found: "the same table was brought in on %s", Want: "another one, or that one taken out first"}.Of(o.Made.At.Local().Format("2 January 2006"))}
			}
		}
		at, name, device := t.Stamp(by)
		id, err := t.Insert(insertEarlier, l.Name, l.Digest, said, len(rows), at, name, device)
		if err != nil {
			return err
		}
		if err := t.putEarlier(by, id, rows); err != nil {
			return err
		}
		if err := t.Note(by, 0, fmt.Sprintf("brought in the earlier log %s, %d readings", l.Name, len(rows)), ""); err != nil {
			return err
		}
		l.ID, l.Readings = id, len(rows)
		kept = l
		return nil
	})
	return kept, err
}

// checkEarlier tidies what a row says, or tells what is wrong with it.
func checkEarlier(file string, r *EarlierRow) (fs knownwater.Faults) {
	if !r.Check {
		store.Line(&fs, "water", &r.Entry.Water, r.Water == 0)
	}
	store.Line(&fs, "method", &r.Entry.Method, true)
	store.Line(&fs, "reading", &r.Reading, true)
	for column, to := range map[string]*string{"lot": &r.Lot, "reader": &r.Reader, "technique": &r.Technique, "pair": &r.Pair} {
		store.Line(&fs, column, to, false)
	}
	store.Lines(&fs, "note", &r.Rest)
	if !(r.Dilution > 0) {
		fs = append(fs, knownwater.Fault{Column: "dilution", Found: fmt.Sprint(r.Dilution), Want: "a factor above 0"})
	}
	if r.Check && !(r.Known >= 0 && r.UKnown >= 0) {
		fs = append(fs, knownwater.Fault{Column: "known", Found: fmt.Sprint(r.Known), Want: "what the known holds, from 0 up"})
	}
	if !(r.Nitrite >= 0 && r.Nitrite <= knownwater.MostNitrite && r.UNitrite >= 0 && r.UNitrite <= knownwater.MostNitrite) {
		fs = append(fs, knownwater.Fault{Column: "nitrite", Found: fmt.Sprintf("%g ± %g", r.Nitrite, r.UNitrite), Want: "nitrite in mg/L NO2, from 0 up"})
	}
	for i := range fs {
		fs[i].File, fs[i].Row = file, r.Row
	}
	return fs
}

func (t tx) putEarlier(by knownwater.Who, id int64, rows []EarlierRow) error {
	made := map[string]int64{}
	many := t.Many()
	for _, r := range rows {
		water := r.Water
		if !r.Check && water == 0 {
			name := strings.ToLower(r.Entry.Water)
			if made[name] == 0 {
				spec := knownwater.WaterSpec{Name: r.Entry.Water, Kind: knownwater.Tank}
				if taken, err := kept.NameTaken(t.Tx, spec.Name, 0); err != nil {
					return err
				} else if taken {
					return knownwater.Faults{knownwater.Fault{Row: r.Row, Column: "water", Found: "another water is called %q", Want: "that water, chosen from the list"}.Of(spec.Name)}
				}
				var err error
				if made[name], err = kept.Put(t.Tx, by, 0, spec.Name, spec, ""); err != nil {
					return err
				}
			}
			water = made[name]
		}
		var known, nitrite any
		if r.Check {
			known, water = r.Known, 0
		}
		if r.NitriteKnown {
			nitrite = r.Nitrite
		}
		if err := many.Exec(insertEarlierRow, id, r.Row, water, r.Entry.Method, r.Method, store.TimeText(r.At), r.Reading, r.Lot, r.Reader, r.Technique, r.Pair, r.Dilution, known, r.UKnown, r.Rest, nitrite, r.UNitrite); err != nil {
			return err
		}
	}
	return nil
}

// EarlierLogs are the logs that were brought in, newest first; those taken out too.
func (b *Operations) EarlierLogs(ctx context.Context) (list []EarlierLog, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = store.All(t.Tx, earlierLogs, scanEarlier)
		return err
	})
	return list, err
}

// EarlierRows are the rows of logs that are not taken out: of a water, and checks.
func (b *Operations) EarlierRows(ctx context.Context, water int64) (rows []EarlierRow, err error) {
	err = b.read(ctx, func(t tx) error {
		rows, err = store.All(t.Tx, earlierRows, scanEarlierRow, water)
		return err
	})
	return rows, err
}

// PlaceEarlierLog takes a log out of all that is said of waters, or puts it back. Owner.
func (b *Operations) PlaceEarlierLog(ctx context.Context, by knownwater.Who, id int64, removed bool, why string) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	why, err := store.Reason(why)
	if err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		list, err := store.All(t.Tx, earlierLogs, scanEarlier)
		if err != nil {
			return err
		}
		i := slices.IndexFunc(list, func(l EarlierLog) bool { return l.ID == id })
		if i < 0 {
			return knownwater.Refuse(knownwater.NotFound, "there is no such log")
		}
		if list[i].Removed == removed {
			return nil
		}
		place, what := "here", "put back the earlier log "
		if removed {
			place, what = "removed", "took out the earlier log "
		}
		at, name, device := t.Stamp(by)
		if err := t.Exec(insertEarlierPlace, id, place, why, at, name, device); err != nil {
			return err
		}
		return t.Note(by, 0, what+list[i].Name, why)
	})
}

func scanEarlier(scan func(...any) error) (l EarlierLog, err error) {
	var place string
	err = scan(&l.ID, &l.Name, &l.Digest, store.JSON(&l.Said), &l.Readings, store.Time(&l.Made.At), &l.Made.Name, &l.Made.Device, &place, &l.Why)
	l.Removed = place == "removed"
	return l, err
}

func scanEarlierRow(scan func(...any) error) (r EarlierRow, err error) {
	var known, nitrite *float64
	err = scan(&r.ID, &r.Log, &r.Row, &r.Water, &r.Entry.Method, &r.Method, store.Time(&r.At), &r.Reading, &r.Lot, &r.Reader, &r.Technique, &r.Pair, &r.Dilution, &known, &r.UKnown, &r.Rest, &nitrite, &r.UNitrite)
	if r.Check = known != nil; r.Check {
		r.Known = *known
	}
	if r.NitriteKnown = nitrite != nil; r.NitriteKnown {
		r.Nitrite = *nitrite
	}
	return r, err
}
