package main

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"runtime/debug"
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

// loggedFiles are a log with what it takes to read it, as history and experiments take them.
type loggedFiles struct {
	File    string   `arg:"" help:"log.csv or a workbook: taken_at, water, method, reading; known and u_known where a vial held known water." type:"file"`
	Record  []string `required:"" sep:"none" help:"A trial's report.html: the records of its methods. Given twice for one method, the first is the one that results were made with, the last what is known now." type:"file"`
	Methods string   `help:"methods.toml, for methods of the log without a record." type:"file"`
	Need    string   `help:"need.toml: what the waters are to be." type:"file"`
	Sheet   string   `help:"The sheet of a workbook."`
	Column  []string `sep:"none" placeholder:"HEADING=COLUMN" help:"What a column of the log is, where its heading does not say: Datum=taken_at. HEADING=- is of no account. May be repeated."`
	Method  []string `sep:"none" placeholder:"NAME|OLD=NAME" help:"Which method read a log that has no column for it; unknown where nobody knows. OLD=NAME: the log calls OLD what the records call NAME. May be repeated."`
	Water   []string `sep:"none" placeholder:"NAME|OLD=NAME" help:"Which water a log is of that has no column for it. OLD=NAME: the log calls OLD what is to be called NAME. May be repeated."`
	Lot     string   `help:"The lot of rows that name none; unknown where it may be any."`
	Analyte string   `help:"Which analyte of a log of several; else each is judged by itself."`
	Dates   string   `help:"How the log writes its dates: iso (2026-03-31), dmy (31.3.2026) or mdy (3/31/2026)." enum:"iso,dmy,mdy" default:"iso"`
}

// historyCmd judges a log of routine readings.
type historyCmd struct {
	loggedFiles
	JSON bool   `name:"json" help:"Print one JSON object." xor:"form"`
	CSV  string `name:"csv" help:"Write every row to this file, as it was read and as it is expressed now; - is standard output." type:"file" xor:"form"`
	HTML string `name:"html" help:"Write it to this file as a page that carries its inputs; recheck takes it." type:"file" xor:"form"`
	replacing
}

func (c *historyCmd) Run(e *env) error {
	if before := debug.SetMemoryLimit(historyMemory); before < historyMemory { // somebody set a smaller one
		debug.SetMemoryLimit(before)
	} else {
		defer debug.SetMemoryLimit(before)
	}
	file := c.output(e, c.HTML+c.CSV, append(c.Record, c.File, c.Methods, c.Need)...)
	if err := file.check(); err != nil {
		return err
	}
	from, err := c.open(e)
	if err != nil {
		return err
	}
	if c.HTML == "" {
		from.zone = nil
	}
	p, err := from.judged(e)
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		return writeJSON(e.out, report.HistoryJSON(p.Histories, p.Notes))
	case c.CSV != "":
		if err := file.write(func(w io.Writer) error { return report.HistoryCSV(w, p.Histories) }); err != nil {
			return err
		}
		return file.told(e, "The log is in", file.path)
	case c.HTML == "":
		return report.HistoryText(e.out, p.Histories, p.Notes)
	}
	p.Inputs = from.inputs()
	if err := file.write(p.Write); err != nil {
		return err
	}
	return file.told(e, "The history is in", file.path)
}

// historyMemory is from where on memory is cleared more often than quickly: ten years of ten waters
// stay below 200 MB.
const historyMemory = 165 << 20

// historyFiles are all that a history is computed from.
type historyFiles struct {
	log, methods, need intake.Source     // no name: not given
	said               map[string]string // of the log: what a page keeps of it beside the files
	zone               *time.Location    // of times that name none; nil: the machine's. That of a page is UTC: it is the same anywhere
	records            []report.Inputs
}

func (c loggedFiles) open(e *env) (from historyFiles, err error) {
	from.zone = time.UTC
	if from.said, err = c.said(); err != nil {
		return from, err
	}
	for _, f := range []struct {
		path string
		to   *intake.Source
	}{{c.File, &from.log}, {c.Methods, &from.methods}, {c.Need, &from.need}} {
		if f.path == "" {
			continue
		}
		if *f.to, err = e.source(f.path); err != nil {
			return from, err
		}
	}
	for _, path := range c.Record {
		file, err := e.source(path)
		if err != nil {
			return from, err
		}
		d, err := report.Open(bytes.NewReader(file.Data))
		if err != nil {
			return from, nameFile(path, err)
		}
		options := map[string]string{"seed": fmt.Sprint(d.Seed)}
		maps.Copy(options, d.Inputs.Options)
		from.records = append(from.records, report.Inputs{Readings: d.Inputs.Readings, Methods: d.Inputs.Methods, Need: d.Inputs.Need, Options: options, Report: path})
	}
	return from, nil
}

// inputs are the files as a page carries them.
func (from historyFiles) inputs() report.Inputs {
	file := func(s intake.Source) report.File { return report.File{Name: s.Name, Data: s.Data} }
	in := report.Inputs{Readings: file(from.log), Methods: file(from.methods), Need: file(from.need), Records: from.records, Made: time.Now().Format("2 January 2006")}
	in.Options = from.said
	return in
}

// said is what was said of the log, by what it is of; nil: nothing.
func (c loggedFiles) said() (map[string]string, error) {
	out := map[string]string{}
	for key, v := range map[string]string{"sheet": c.Sheet, "lot": c.Lot, "analyte": c.Analyte} {
		if v != "" {
			out[key] = v
		}
	}
	if c.Dates != "iso" && c.Dates != "" {
		out["dates"] = c.Dates
	}
	for _, x := range []struct {
		what  string
		names []string
	}{{"method", c.Method}, {"water", c.Water}} {
		if err := named(out, x.what, x.names); err != nil {
			return nil, err
		}
	}
	for _, one := range c.Column {
		at := strings.LastIndexByte(one, '=')
		if at < 1 || !intake.LogColumn(one[at+1:]) {
			return nil, knownwater.Fault{Column: "--column", Found: fmt.Sprintf("%q", one), Want: "a heading of the log, =, and what it is: " + strings.Join(intake.LogColumnNames(), ", ") + " or -"}
		}
		out[saidColumn+one[:at]] = one[at+1:]
	}
	if len(out) == 0 {
		return nil, nil
	}
	return out, nil
}

// saidColumn stands before the headings among what was said of a log, as what is renamed stands before names.
const saidColumn = "column "

// named puts names of a log into what was said of it: one that holds for rows without any, others as OLD=NAME.
func named(said map[string]string, what string, names []string) error {
	for _, one := range names {
		key, name := what, one
		if at := strings.LastIndexByte(one, '='); at >= 0 {
			key, name = what+" "+one[:at], one[at+1:]
			if one[:at] == "" {
				name = ""
			}
		}
		if name == "" || said[key] != "" {
			return knownwater.Fault{Column: "--" + what, Found: fmt.Sprintf("%q", one), Want: "one " + what + " of rows that name none, or the name in the log, =, and what it is: \"Old name=Name\", each once"}
		}
		said[key] = name
	}
	return nil
}

// renamed calls methods and waters of a log as somebody said.
func (from historyFiles) renamed(log intake.LogFile) error {
	var faults knownwater.Faults
	for _, x := range []struct {
		what string
		of   func(*history.Entry) *string
	}{{"method", func(e *history.Entry) *string { return &e.Method }}, {"water", func(e *history.Entry) *string { return &e.Water }}} {
		to, used, there := map[string]string{}, map[string]bool{}, map[string]bool{}
		for key, name := range from.said {
			if old, ok := strings.CutPrefix(key, x.what+" "); ok {
				to[old] = name
			}
		}
		if len(to) == 0 {
			continue
		}
		for i := range log.Entries {
			at := x.of(&log.Entries[i])
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

// options are those by which the log is read.
func (from historyFiles) options(stop func() error) intake.Options {
	o := intake.Options{Sheet: from.said["sheet"], Method: from.said["method"], Water: from.said["water"], Lot: from.said["lot"], Dates: from.said["dates"], Zone: from.zone, Stop: stop}
	for key, as := range from.said {
		if heading, ok := strings.CutPrefix(key, saidColumn); ok {
			if o.Called == nil {
				o.Called = map[string]string{}
			}
			o.Called[heading] = as
		}
	}
	return o
}

// historyFrom are the files that a page of a history carries.
func historyFrom(in report.Inputs) historyFiles {
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	return historyFiles{source(in.Readings), source(in.Methods), source(in.Need), in.Options, time.UTC, in.Records}
}

// judged is the history, without its inputs.
func (from historyFiles) judged(e *env) (p report.HistoryPage, err error) {
	p, parts, err := from.parts(e)
	if err != nil {
		return p, err
	}
	for _, part := range parts {
		h, err := history.Of(part.Entries, part.Methods)
		if err != nil {
			return p, inLog(from.log.Name, err)
		}
		p.Histories = append(p.Histories, h)
	}
	return p, nil
}

// parts are the log by what its methods measure, or that which was asked for alone. A file of needs says of no analyte:
// beside several it is held against none.
func (from historyFiles) parts(e *env) (p report.HistoryPage, parts []history.Part, err error) {
	p, log, m, err := from.read(e)
	if err != nil {
		return p, nil, err
	}
	parts = history.Split(log.Entries, m)
	if asked := from.said["analyte"]; asked != "" {
		var there []string
		var of []history.Part
		for _, part := range parts {
			if strings.EqualFold(part.Scale.Analyte, asked) {
				of = append(of, part)
			}
			if name := part.Scale.Analyte; name != "" && !slices.Contains(there, name) {
				there = append(there, name)
			}
		}
		if of == nil {
			return p, nil, knownwater.Fault{Column: "--analyte", Found: fmt.Sprintf("%.40q", asked), Want: "an analyte of the log: " + strings.Join(there, ", ")}
		}
		parts = of
	}
	if len(parts) > 1 && len(p.Needs) > 0 {
		p.Notes = append(p.Notes, note.New("needs-of-which"))
		for i := range parts {
			parts[i].Methods.Matters, parts[i].Methods.Hold = 0, nil
		}
	}
	return p, parts, nil
}

// read are the log and what is known of its methods, with the needs and notes of both.
func (from historyFiles) read(e *env) (p report.HistoryPage, log intake.LogFile, m history.Methods, err error) {
	p.Version = version
	if log, err = intake.Log(from.log, from.options(e.ctx.Err)); err != nil {
		return p, log, m, err
	}
	if err = from.renamed(log); err != nil {
		return p, log, m, err
	}
	m = history.Methods{Records: map[string][]history.Source{}}
	var stated intake.MethodsFile
	if from.methods.Name != "" {
		if stated, err = intake.Methods(from.methods); err != nil {
			return p, log, m, err
		}
	}
	if from.need.Name != "" {
		if p.Needs, err = intake.Needs(from.need); err != nil {
			return p, log, m, err
		}
		m.Matters = leastChange(p.Needs)
		m.Hold = heldRanges(p.Needs)
	}
	p.Notes = log.Notes
	for _, r := range from.records {
		more, err := recordsOf(r, log, m.Records)
		if err != nil {
			return p, log, m, err
		}
		p.Notes = append(p.Notes, more...)
	}
	m.Measures = map[string]string{}
	for _, x := range stated.Methods {
		m.Measures[x.Name] = stated.Scale.Analyte
	}
	m.Kinds, err = intake.LogMethods(log, from.log, stated, func(name string) bool { return len(m.Records[name]) > 0 })
	if err != nil {
		return p, log, m, err
	}
	return p, log, m, nil
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
func recordsOf(in report.Inputs, log intake.LogFile, into map[string][]history.Source) (notes []note.Note, err error) {
	t, seed, err := trialOf(in, 0)
	if err != nil {
		return nil, err
	}
	for _, m := range t.Methods {
		if !slices.ContainsFunc(log.Entries, func(e history.Entry) bool { return e.Method == m.Name }) {
			continue
		}
		matrix, several := mostRead(t, m.Name)
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

// trialOf is the trial that a report carries, with the seed of its findings: otherwise where
// its options name none.
func trialOf(in report.Inputs, otherwise uint64) (knownwater.Trial, uint64, error) {
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
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

// mostRead is the water in which a method was read most.
func mostRead(t knownwater.Trial, method string) (matrix string, several bool) {
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
