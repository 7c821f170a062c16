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
	"knownwater/science/control"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/result"
	"knownwater/science/unit"
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
	// Nitrite of the sample, mg/L NO2, where somebody measured it.
	NitriteKnown      bool
	Nitrite, UNitrite float64
}

// UnknownLot is a lot that nobody knows any more: it may be any, and another from one row to the
// next. It is none that was tried, whatever a trial calls its own.
const UnknownLot = "unknown"

// uUnknownLot is the relative standard uncertainty of what a lot that nobody knows reads of what
// it should, where the trial did not see how lots differ: common practice, no source.
const uUnknownLot = 0.10

// Source is what turns the readings of one method round and says what a known should read;
// *assess.Performance is one.
type Source interface {
	Read(q result.Question) (result.Outcome, error)
	Expect(known, u float64, reader, lot string, dilution float64) (assess.Expected, bool)
	// Way is how readings become concentrations, with what they share.
	Way(reader, lot string, dilution float64) *assess.Way
	// TriedLots and TriedReaders are the lots and readers that its trial names, ToldReaders those whom it told apart.
	TriedLots() []string
	TriedReaders() []string
	ToldReaders() []string
	// NitritePart is what nitrite makes the method read too much, with the standard uncertainties of it by the
	// nitrite and by the factor. Not ok: its trial says nothing of nitrite.
	NitritePart(n, u float64) (reads, byNitrite, byFactor float64, ok bool)
	Unit() unit.Scale
	// DilutesFrom is the least reading, as seen, from which its sheet has a sample diluted and read again, and the least from which
	// somebody may take it so; 0: it never does.
	DilutesFrom() (from, least float64)
}

// Methods are what is known of the methods of a log, by name: Records in the order in which
// they were adopted, the first of which results were made with and the last of which is
// what is known now; Kinds of those without a record.
type Methods struct {
	Records map[string][]Source
	Kinds   map[string]knownwater.Method
	// Measures is the analyte of methods without a record, where somebody describes it.
	Measures map[string]string
	// Matters is the change of concentration that matters; 0: nobody says.
	Matters float64
	// Solved remembers limits of checks; nil: those of this log alone.
	Solved *control.Solved
	// Uses are the first uses of a method with each lot by each reader, in order of time, where somebody knows of more than the log: they say
	// who is taken for the trial's reader, and which lot for the trial's where that names none.
	Uses map[string][]Use
	// Hold are the ranges that every water of the log is to be held in.
	Hold []Range
}

// Use is the first use of a lot of a method by a reader.
type Use struct {
	Lot, Reader string
	At          time.Time
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

	seen *interval.Interval // what was seen, in concentrations of the sample as the method shows them
}

// History is a log, judged.
type History struct {
	Results []Result  // in order of time
	Checks  []Checks  // by method, lot and known
	Bridges []Bridge  // in order of time
	Levels  []Level   // by water, in order of time
	Between []Between // by water, in order of time: levels where nothing was read
	Trends  []Trend   // by water, in order of time
	Slopes  []Slope   // of each stretch of a water that is linked
	Changes []Change  // by water, in order of time
	Holds   []Hold    // of each stretch, every range
	Notes   []note.Note
}

// Of judges a log. The order of its lines changes nothing. The error holds
// knownwater.Faults with rows, of readings that cannot be understood.
func Of(log []Entry, m Methods) (History, error) {
	h, l, err := linked(log, m)
	if err != nil {
		return h, err
	}
	h.Bridges = l.bridges(m.Matters)
	h.Levels, h.Slopes, h.Changes, h.Holds = []Level{}, []Slope{}, []Change{}, []Hold{}
	var diluted []note.Note
	for _, w := range l.eachWater(l.used(h.Results)) {
		diluted = append(diluted, w.notes...)
		h.Between, h.Trends = append(h.Between, w.between...), append(h.Trends, w.trends...)
		h.Changes, h.Levels, h.Slopes, h.Holds = append(h.Changes, w.changes...), append(h.Levels, w.levels...), append(h.Slopes, w.slopes...), append(h.Holds, w.holds...)
	}
	h.Notes = slices.Concat(enteredAgain(log), diluted, notesOf(h, l))
	return h, nil
}

// linked are the results of a log, re-expressed, with what links its setups.
func linked(log []Entry, m Methods) (h History, l *links, err error) {
	log = slices.Clone(log)
	slices.SortStableFunc(log, func(a, b Entry) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Water, b.Water), cmp.Compare(a.Method, b.Method), cmp.Compare(a.Lot, b.Lot),
			cmp.Compare(a.Reader, b.Reader), cmp.Compare(a.Reading, b.Reading), cmp.Compare(a.Row, b.Row))
	})
	var faults knownwater.Faults
	r := reader{m, crewsOf(log, m), map[question]result.Outcome{}}
	if h.Checks, faults = checksOf(log, r); faults != nil {
		return h, nil, faults
	}
	if h.Results, faults = resultsOf(log, r, h.Checks); faults != nil {
		return h, nil, faults
	}
	l = newLinks(log, r, h.Results, h.Checks)
	l.reexpress(h.Results, h.Checks, r)
	return h, l, nil
}
