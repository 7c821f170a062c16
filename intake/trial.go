package intake

import (
	"sort"
	"time"

	"knownwater"
	"knownwater/science/history"
	"knownwater/science/unit"
)

// Options is what a person says beside the files.
type Options struct {
	Sheet   string // which sheet of a workbook; the first if not said
	Method  string // of a table that names no method: which one read it; else the one that is wanted
	Analyte string // of a table with several: which one is wanted
	// Described are the methods as somebody described them, where there is no
	// methods file.
	Described []knownwater.Method
	Called    map[string]string // what columns are, by their headings: see ColumnSeen
	LeaveOut  bool              // rows that are not understood are left out, with a note, not refused
	Water     string            // of a log without a column for it: which water it is of
	Lot       string            // of rows of a log that name none
	Dates     string            // how a log writes its dates: DatesISO …
	Rest      bool              // keep what stands in columns of a log that mean nothing here
	Zone      *time.Location    // of a log's times that name none; nil: the machine's
	Stop      func() error      // asked now and then; an error ends the reading with it
	// Renamed calls methods and waters of a log as somebody said they are called; nil: the log does.
	Renamed func(entries []history.Entry) error
}

// Trial reads a file of readings with, where given, the methods and the needs
// that go with it. The error holds knownwater.Faults: every fault of all three
// files. Observations come in a settled order, whatever the order of rows.
func Trial(readings, methods, needs Source) (knownwater.Trial, error) {
	return Options{}.Trial(readings, methods, needs)
}

// Trial is Trial with more said.
func (o Options) Trial(readings, methods, needs Source) (knownwater.Trial, error) {
	var faults knownwater.Faults
	stated := MethodsFile{Water: unit.StandardSea}
	methodsBroken := false
	if methods.given() {
		var fs knownwater.Faults
		stated, fs = readMethods(methods)
		methodsBroken = fs != nil
		faults = append(faults, fs...)
	} else {
		stated.Methods = o.Described
	}
	var wanted []knownwater.Need
	if needs.given() {
		var fs knownwater.Faults
		wanted, fs = readNeeds(needs)
		faults = append(faults, fs...)
	}
	trial, fs := o.readReadings(readings, methods, stated, methodsBroken)
	if o.Stop != nil {
		if err := o.Stop(); err != nil {
			return knownwater.Trial{}, err
		}
	}
	faults = append(fs, faults...)
	if len(faults) > 0 {
		return knownwater.Trial{}, faults
	}
	var err error
	if trial.Needs, err = knownwater.NeedsOf(wanted, trial.Scale); err != nil {
		return knownwater.Trial{}, knownwater.Faults{needs.at(0, "analyte", err.(knownwater.Fault))}
	}
	return trial, nil
}

// counted is a file of readings opened, its rows counted by what they hold.
func (o Options) counted(src Source, stated MethodsFile, given bool) (*sheet, *tally, knownwater.Faults) {
	sh, faults := src.open(readingsLayout, o)
	if faults != nil {
		return nil, nil, faults
	}
	t := newTally(sh)
	t.choose(o, stated)
	if faults := t.wideColumns(sh, stated, given); faults != nil {
		return nil, nil, faults
	}
	if t.wholeLines(sh) {
		sh.known = t.knownLine
	}
	var tooLong knownwater.Faults
	faults = sh.each(func(row int, cells [][]byte, _ int) bool {
		if f := t.add(sh, row, cells); f != nil {
			tooLong = append(tooLong, *f)
		}
		return len(tooLong) < mostFaults && t.tooMany.Found == ""
	})
	if t.tooMany.Found != "" && sh.stopped == nil {
		return nil, nil, knownwater.Faults{src.at(0, "", t.tooMany)}
	}
	sh.known = nil
	faults = append(faults, tooLong...)
	if sh.stopped == nil {
		if fs := t.chosen(sh, o); fs != nil {
			return nil, nil, append(faults, fs...)
		}
	}
	return sh, t, faults
}

func (o Options) readReadings(src, methods Source, stated MethodsFile, broken bool) (knownwater.Trial, knownwater.Faults) {
	given := methods.given() || len(o.Described) > 0
	sh, t, faults := o.counted(src, stated, given)
	if t == nil || sh.stopped != nil {
		return knownwater.Trial{}, faults
	}
	if stated.Scale.Analyte == "" {
		stated.Scale.Analyte = t.oneAnalyte()
	}
	if t.rows == 0 && len(faults) == 0 {
		return knownwater.Trial{}, src.refuse(sh.headerRow, "", "a header and no readings", "a row for each reading")
	}
	j := join(sh, t, methods, stated, given, broken)
	if j.read == 0 && t.rows > 0 && len(faults) == 0 {
		return knownwater.Trial{}, src.refuse(sh.headerRow, "reading", "nothing was read in any row", "a reading in at least one row")
	}
	var left knownwater.Faults
	if bad := j.check(); len(bad) > 0 {
		if where := j.locate(bad); o.LeaveOut && len(bad) < len(t.groups) {
			left = where
			t.leaveOut(bad)
		} else {
			faults = append(faults, where...)
		}
	}
	faults = append(faults, j.faults...)
	if len(faults) > 0 {
		sort.SliceStable(faults, func(a, b int) bool { return faults[a].Row < faults[b].Row })
		return knownwater.Trial{}, faults
	}
	trial := j.trial()
	if fs := j.onlyNitrite(trial); fs != nil {
		return knownwater.Trial{}, fs
	}
	if left != nil {
		trial.Notes = append(trial.Notes, noteLeftOut(left))
	}
	return trial, nil
}
