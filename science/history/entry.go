// Package history judges a log of routine readings: what each said of its water, whether
// checks among them show that a method still held, and so which results wait.
//
//	entry.go    a line of a log
//	results.go  every reading turned round by the record of its method
//	checks.go   rows of checks of one method, lot and known
package history

import (
	"cmp"
	"slices"
	"time"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/note"
	"knownwater/science/result"
)

// Entry is a line of a log: a reading of a water, or of known water among them.
type Entry struct {
	Row       int
	At        time.Time
	Typed     string // when, as it was typed
	Water     string
	Method    string
	Reading   string
	Lot       string
	Reader    string
	Technique string
	Pair      string
	Dilution  float64
	Check     bool // the vial held known water
	Known     float64
	UKnown    float64
}

// Source is what turns the readings of one method round and says what a known should read;
// *assess.Performance is one.
type Source interface {
	Read(q result.Question) (result.Outcome, error)
	Expect(known, u float64, reader, lot string, dilution float64) (assess.Expected, bool)
}

// Methods are what is known of the methods of a log, by name: Records in the order in which
// they were adopted, the first of which results were made with and the last of which is
// what is known now; Kinds of those without a record.
type Methods struct {
	Records map[string][]Source
	Kinds   map[string]knownwater.Method
}

// Standing is what became of a result.
type Standing string

// A result stands, waits because a check says that its method had moved by then, or is left
// out of what is said of its water.
const (
	Stands  Standing = "stands"
	Waits   Standing = "waits"
	LeftOut Standing = "left out"
)

// Result is a reading of a water with what it says.
type Result struct {
	Entry
	Outcome  *result.Outcome // as its record said; nil without a record
	Again    *result.Outcome // by what is known now, where that is another record
	Standing Standing
	Doubt    *note.Note // what to doubt about it; nil: nothing
}

// History is a log, judged.
type History struct {
	Results []Result // in order of time
	Checks  []Checks // by method, lot and known
	Notes   []note.Note
}

// Of judges a log. The order of its lines changes nothing. The error holds
// knownwater.Faults with rows, of readings that cannot be understood.
func Of(log []Entry, m Methods) (History, error) {
	log = slices.Clone(log)
	slices.SortStableFunc(log, func(a, b Entry) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Water, b.Water), cmp.Compare(a.Method, b.Method), cmp.Compare(a.Lot, b.Lot),
			cmp.Compare(a.Reader, b.Reader), cmp.Compare(a.Reading, b.Reading), cmp.Compare(a.Row, b.Row))
	})
	var h History
	var faults knownwater.Faults
	if h.Checks, faults = checksOf(log, m); faults != nil {
		return h, faults
	}
	if h.Results, faults = resultsOf(log, m, h.Checks); faults != nil {
		return h, faults
	}
	h.Notes = notesOf(h, m)
	return h, nil
}

func notesOf(h History, m Methods) (notes []note.Note) {
	var without []string
	for _, r := range h.Results {
		if len(m.Records[r.Method]) == 0 && !slices.Contains(without, r.Method) {
			without = append(without, r.Method)
		}
	}
	for _, c := range h.Checks {
		if c.Why != nil {
			notes = note.Add(notes, *c.Why)
		}
		if c.OtherwiseDiluted > 0 {
			notes = note.Add(notes, note.New("checks-otherwise-diluted").Number("n", float64(c.OtherwiseDiluted)).Number("known", c.Known).Name("method", c.Method))
		}
	}
	if len(without) > 0 {
		slices.Sort(without)
		notes = append(notes, note.New("method-without-record").Name("methods", without...))
	}
	if len(h.Checks) == 0 {
		notes = append(notes, note.New("no-checks"))
	}
	return append(notes, note.New("no-history-yet"))
}
