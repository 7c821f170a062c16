package main

import (
	"bytes"
	"slices"
	"strconv"

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
	JSON    bool     `name:"json" help:"Print one JSON object."`
}

func (c *historyCmd) Run(e *env) error {
	src, err := e.source(c.File)
	if err != nil {
		return err
	}
	log, err := intake.Log(src, intake.Options{Sheet: c.Sheet, Stop: e.ctx.Err})
	if err != nil {
		return err
	}
	m := history.Methods{Records: map[string][]history.Source{}}
	var stated intake.MethodsFile
	if c.Methods != "" {
		file, err := e.source(c.Methods)
		if err != nil {
			return err
		}
		if stated, err = intake.Methods(file); err != nil {
			return err
		}
	}
	if c.Need != "" {
		file, err := e.source(c.Need)
		if err != nil {
			return err
		}
		needs, err := intake.Needs(file)
		if err != nil {
			return err
		}
		m.Matters = leastChange(needs)
	}
	notes := log.Notes
	for _, path := range c.Record {
		more, err := c.records(e, path, log, m.Records)
		if err != nil {
			return err
		}
		notes = append(notes, more...)
	}
	m.Kinds, err = intake.LogMethods(log, src, stated, func(name string) bool { return len(m.Records[name]) > 0 })
	if err != nil {
		return err
	}
	h, err := history.Of(log.Entries, m)
	if err != nil {
		return inLog(c.File, err)
	}
	if c.JSON {
		return writeJSON(e.out, report.HistoryJSON(h, notes))
	}
	return report.HistoryText(e.out, h, notes)
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

// records adds those of the log's methods that a report carries, computed again from its
// inputs. A method that shows no response there has none.
func (c *historyCmd) records(e *env, path string, log intake.LogFile, into map[string][]history.Source) (notes []note.Note, err error) {
	file, err := e.source(path)
	if err != nil {
		return nil, err
	}
	d, err := report.Open(bytes.NewReader(file.Data))
	if err != nil {
		return nil, nameFile(path, err)
	}
	t, seed, err := trialOf(d)
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

// trialOf is the trial that a report carries, with the seed of its findings.
func trialOf(d report.Document) (knownwater.Trial, uint64, error) {
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	t, err := intake.Trial(source(d.Inputs.Readings), source(d.Inputs.Methods), source(d.Inputs.Need))
	if err != nil {
		return t, 0, err
	}
	seed, err := strconv.ParseUint(d.Inputs.Options["seed"], 10, 64)
	if err != nil {
		seed = d.Seed
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
