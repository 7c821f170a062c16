package main

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"time"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/history"
	"knownwater/science/note"
)

// historyCmd judges a log of routine readings.
type historyCmd struct {
	File    string   `arg:"" help:"log.csv or a workbook: taken_at, water, method, reading; known and u_known where a vial held known water." type:"file"`
	Record  []string `required:"" sep:"none" help:"A trial's report.html: the records of its methods. Given twice for one method, the first is the one that results were made with, the last what is known now." type:"file"`
	Methods string   `help:"methods.toml, for methods of the log without a record." type:"file"`
	Need    string   `help:"need.toml: what the waters are to be." type:"file"`
	Sheet   string   `help:"The sheet of a workbook."`
	JSON    bool     `name:"json" help:"Print one JSON object." xor:"form"`
	HTML    string   `name:"html" help:"Write it to this file as a page that carries its inputs; recheck takes it." type:"file" xor:"form"`
	replacing
}

func (c *historyCmd) Run(e *env) error {
	file := c.output(e, c.HTML, append(c.Record, c.File, c.Methods, c.Need)...)
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
		return writeJSON(e.out, report.HistoryJSON(p.History, p.Notes))
	case c.HTML == "":
		return report.HistoryText(e.out, p.History, p.Notes)
	}
	p.Inputs = from.inputs()
	if err := file.write(p.Write); err != nil {
		return err
	}
	return file.told(e, "The history is in", file.path)
}

// historyFiles are all that a history is computed from.
type historyFiles struct {
	log, methods, need intake.Source // no name: not given
	sheet              string
	zone               *time.Location // of times that name none; nil: the machine's. That of a page is UTC: it is the same anywhere
	records            []report.Inputs
}

func (c *historyCmd) open(e *env) (from historyFiles, err error) {
	from.sheet, from.zone = c.Sheet, time.UTC
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
	if from.sheet != "" {
		in.Options = map[string]string{"sheet": from.sheet}
	}
	return in
}

// historyFrom are the files that a page of a history carries.
func historyFrom(in report.Inputs) historyFiles {
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	return historyFiles{source(in.Readings), source(in.Methods), source(in.Need), in.Options["sheet"], time.UTC, in.Records}
}

// judged is the history, without its inputs.
func (from historyFiles) judged(e *env) (p report.HistoryPage, err error) {
	p.Version = version
	log, err := intake.Log(from.log, intake.Options{Sheet: from.sheet, Zone: from.zone, Stop: e.ctx.Err})
	if err != nil {
		return p, err
	}
	m := history.Methods{Records: map[string][]history.Source{}}
	var stated intake.MethodsFile
	if from.methods.Name != "" {
		if stated, err = intake.Methods(from.methods); err != nil {
			return p, err
		}
	}
	if from.need.Name != "" {
		if p.Needs, err = intake.Needs(from.need); err != nil {
			return p, err
		}
		m.Matters = leastChange(p.Needs)
	}
	p.Notes = log.Notes
	for _, r := range from.records {
		more, err := recordsOf(r, log, m.Records)
		if err != nil {
			return p, err
		}
		p.Notes = append(p.Notes, more...)
	}
	m.Kinds, err = intake.LogMethods(log, from.log, stated, func(name string) bool { return len(m.Records[name]) > 0 })
	if err != nil {
		return p, err
	}
	if p.History, err = history.Of(log.Entries, m); err != nil {
		return p, inLog(from.log.Name, err)
	}
	return p, nil
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
