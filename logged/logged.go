// Package logged is a log of routine readings with all that it takes to judge it: the files of the log and of the
// trials whose records read it, as a page about a log carries them and as a command or the bench hands them over.
package logged

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/history"
	"knownwater/science/note"
)

// SaidColumn stands before the headings among what was said of a log, as what is renamed stands before names.
const SaidColumn = "column "

// SaidMatrix is the water of a record, among what was said of its trial.
const SaidMatrix = "matrix"

// Files are all that is computed from a log.
type Files struct {
	Log, Methods, Need intake.Source     // no name: not given
	Said               map[string]string // of the log, and of an experiment: what a page keeps of it beside the files
	Zone               *time.Location    // of times that name none; nil: the machine's. That of a page is UTC: it is the same anywhere
	Records            []report.Inputs
	Version            string       // of the program
	Stop               func() error // asked now and then; an error ends the reading with it
}

// From are the files that a page about a log carries.
func From(in report.Inputs, version string, stop func() error) Files {
	return Files{source(in.Readings), source(in.Methods), source(in.Need), in.Options, time.UTC, in.Records, version, stop}
}

func source(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }

// Inputs are the files as a page carries them that was made on a day.
func (from Files) Inputs(day time.Time) report.Inputs {
	file := func(s intake.Source) report.File { return report.File{Name: s.Name, Data: s.Data} }
	return report.Inputs{Readings: file(from.Log), Methods: file(from.Methods), Need: file(from.Need), Records: from.Records, Options: from.Said, Made: day.Format("2 January 2006")}
}

// Judged is the history, without its inputs.
func (from Files) Judged() (p report.HistoryPage, err error) {
	p, parts, err := from.parts()
	if err != nil {
		return p, err
	}
	for _, part := range parts {
		h, err := history.Of(part.Entries, part.Methods)
		if err != nil {
			return p, inLog(from.Log.Name, err)
		}
		p.Histories = append(p.Histories, h)
	}
	return p, nil
}

// parts are the log by what its methods measure, or that which was asked for alone, each held against the needs of it. A need that names no
// analyte is held against none of several.
func (from Files) parts() (p report.HistoryPage, parts []history.Part, err error) {
	p, log, m, err := from.read()
	if err != nil {
		return p, nil, err
	}
	parts = history.Split(log.Entries, m)
	if asked := from.Said["analyte"]; asked != "" {
		var of []history.Part
		for _, part := range parts {
			if knownwater.IsOf(asked, part.Scale) {
				of = append(of, part)
			}
		}
		if of == nil {
			return p, nil, knownwater.Fault{Column: "--analyte", Found: fmt.Sprintf("%.40q", asked), Want: "an analyte of the log: " + strings.Join(analytesOf(parts), ", ")}
		}
		parts = of
	}
	of, unsaid := needsOfParts(p.Needs, parts)
	for i := range parts {
		parts[i].Methods.Matters, parts[i].Methods.Hold = leastChange(of[i]), heldRanges(of[i])
	}
	if len(parts) == 1 {
		p.Needs = of[0]
	}
	if unsaid {
		p.Notes = append(p.Notes, note.New("needs-of-which"))
	}
	return p, parts, nil
}

// needsOfParts are the needs of each part of a log; unsaid: one of them may be of several.
func needsOfParts(needs []knownwater.Need, parts []history.Part) (of [][]knownwater.Need, unsaid bool) {
	of = make([][]knownwater.Need, len(parts))
	for _, n := range needs {
		var meant []int
		for i, part := range parts {
			if len(parts) == 1 && n.Of(part.Scale) || n.Analyte != "" && knownwater.IsOf(n.Analyte, part.Scale) {
				meant = append(meant, i)
			}
		}
		if len(meant) == 1 {
			of[meant[0]] = append(of[meant[0]], n)
		}
		unsaid = unsaid || len(meant) > 1 || len(parts) > 1 && n.Analyte == ""
	}
	return of, unsaid
}

// read are the log and what is known of its methods, with the needs and notes of both.
func (from Files) read() (p report.HistoryPage, log intake.LogFile, m history.Methods, err error) {
	p.Version = from.Version
	if log, err = intake.Log(from.Log, from.options()); err != nil {
		return p, log, m, err
	}
	m = history.Methods{Records: map[string][]history.Source{}}
	var stated intake.MethodsFile
	if from.Methods.Name != "" {
		if stated, err = intake.Methods(from.Methods); err != nil {
			return p, log, m, err
		}
	}
	if from.Need.Name != "" {
		if p.Needs, err = intake.Needs(from.Need); err != nil {
			return p, log, m, err
		}
	}
	p.Notes = log.Notes
	for _, r := range from.Records {
		more, err := recordsOf(r, log, m.Records, from.Version)
		if err != nil {
			return p, log, m, err
		}
		p.Notes = append(p.Notes, more...)
	}
	m.Measures = map[string]string{}
	for _, x := range stated.Methods {
		m.Measures[x.Name] = stated.Scale.Analyte
	}
	m.Kinds, err = intake.LogMethods(log, from.Log, stated, func(name string) bool { return len(m.Records[name]) > 0 })
	if err != nil {
		return p, log, m, err
	}
	return p, log, m, nil
}

// options are those by which the log is read.
func (from Files) options() intake.Options {
	o := intake.Options{Sheet: from.Said["sheet"], Method: from.Said["method"], Water: from.Said["water"], Lot: from.Said["lot"], Dates: from.Said["dates"], Zone: from.Zone, Stop: from.Stop, Renamed: from.renamed}
	for key, as := range from.Said {
		if heading, ok := strings.CutPrefix(key, SaidColumn); ok {
			if o.Called == nil {
				o.Called = map[string]string{}
			}
			o.Called[heading] = as
		}
	}
	return o
}

// renamed calls methods and waters of a log as somebody said.
func (from Files) renamed(entries []history.Entry) error {
	var faults knownwater.Faults
	for _, x := range []struct {
		what string
		of   func(*history.Entry) *string
	}{{"method", func(e *history.Entry) *string { return &e.Method }}, {"water", func(e *history.Entry) *string { return &e.Water }}} {
		to, used, there := map[string]string{}, map[string]bool{}, map[string]bool{}
		for key, name := range from.Said {
			if old, ok := strings.CutPrefix(key, x.what+" "); ok {
				to[old] = name
			}
		}
		if len(to) == 0 {
			continue
		}
		for i := range entries {
			at := x.of(&entries[i])
			there[*at] = *at != ""
			if name, ok := to[*at]; ok {
				used[*at], *at = true, name
			}
		}
		for _, old := range slices.Sorted(maps.Keys(to)) {
			if !used[old] {
				faults = append(faults, knownwater.Fault{Column: "--" + x.what, Found: fmt.Sprintf("%q is no %s of the log", old, x.what), Want: "one of " + strings.Join(quotedNames(there), ", ")})
			}
		}
	}
	if faults != nil {
		return faults
	}
	return nil
}

// quotedNames are some of the names that are there.
func quotedNames(there map[string]bool) (out []string) {
	for _, name := range slices.Sorted(maps.Keys(there)) {
		if there[name] && len(out) < 12 {
			out = append(out, fmt.Sprintf("%.40q", name))
		}
	}
	return out
}

// leastChange is the smallest change that any need says matters; 0: none says.
func leastChange(needs []knownwater.Need) (least float64) {
	for _, n := range needs {
		if n.Change > 0 && (least == 0 || n.Change < least) {
			least = n.Change
		}
	}
	return least
}

// heldRanges are what waters are to be held in.
func heldRanges(needs []knownwater.Need) (out []history.Range) {
	for _, n := range needs {
		if !n.NotHeld {
			out = append(out, history.Range{Need: n.Name, Low: n.Low, High: n.High, Sure: n.Sure})
		}
	}
	return out
}

// recordsOf adds those of the log's methods that a trial has, computed from its readings. A
// method that shows no response there has none.
func recordsOf(in report.Inputs, log intake.LogFile, into map[string][]history.Source, version string) (notes []note.Note, err error) {
	t, seed, err := TrialOf(in, 0)
	if err != nil {
		return nil, err
	}
	for _, m := range t.Methods {
		if !slices.ContainsFunc(log.Entries, func(e history.Entry) bool { return e.Method == m.Name }) {
			continue
		}
		matrix, several := MostRead(t, m.Name)
		if stated, there := in.Options[SaidMatrix]; there { // a record of a bench is that of one water
			matrix, several = stated, false
		}
		p, err := assess.PerformanceOf(t, m.Name, matrix, assess.Options{Seed: seed, Version: version})
		if err != nil {
			notes = append(notes, note.New("report-without-response").Name("method", m.Name))
			continue
		}
		if several {
			notes = append(notes, note.New("record-of-one-water").Name("method", m.Name).Name("matrix", matrix))
		}
		into[m.Name] = append(into[m.Name], p)
	}
	return notes, nil
}

// TrialOf is the trial that a report carries, with the seed of its findings: otherwise where
// its options name none.
func TrialOf(in report.Inputs, otherwise uint64) (knownwater.Trial, uint64, error) {
	t, err := intake.Trial(source(in.Readings), source(in.Methods), source(in.Need))
	if err != nil {
		return t, 0, err
	}
	seed, err := strconv.ParseUint(in.Options["seed"], 10, 64)
	if err != nil {
		seed = otherwise
	}
	return t, seed, nil
}

// MostRead is the water in which a method was read most.
func MostRead(t knownwater.Trial, method string) (matrix string, several bool) {
	counts := map[string]int{}
	for _, o := range t.Observations {
		if o.Method == method {
			counts[o.Matrix] += o.Count
		}
	}
	most := -1
	for m, n := range counts {
		if n > most || n == most && m < matrix {
			matrix, most = m, n
		}
	}
	return matrix, len(counts) > 1
}

// inLog names the log in faults of its rows.
func inLog(path string, err error) error {
	fs, ok := err.(knownwater.Faults)
	if !ok {
		return err
	}
	out := make(knownwater.Faults, len(fs))
	for i, f := range fs {
		f.File = path
		out[i] = f
	}
	return out
}
