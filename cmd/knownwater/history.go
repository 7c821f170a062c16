package main

import (
	"bytes"
	"fmt"
	"io"
	"maps"
	"runtime/debug"
	"strings"
	"time"

	"knownwater"
	"knownwater/intake"
	"knownwater/logged"
	"knownwater/report"
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

// holdingAtMost bounds what the process holds before it gives back what it no longer uses, unless
// somebody set a smaller bound; the function it returns undoes that.
func holdingAtMost(bytes int64) func() {
	before := debug.SetMemoryLimit(bytes)
	if before < bytes {
		debug.SetMemoryLimit(before)
	}
	return func() { debug.SetMemoryLimit(before) }
}

func (c *historyCmd) Run(e *env) error {
	defer holdingAtMost(historyMemory)()
	file := c.output(e, c.HTML+c.CSV, append(c.Record, c.File, c.Methods, c.Need)...)
	if err := file.check(); err != nil {
		return err
	}
	from, err := c.open(e)
	if err != nil {
		return err
	}
	if c.HTML == "" {
		from.Zone = nil
	}
	p, err := from.Judged()
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
	p.Inputs = from.Inputs(time.Now())
	if err := file.write(p.Write); err != nil {
		return err
	}
	return file.told(e, "The history is in", file.path)
}

// historyMemory is from where on memory is cleared more often than quickly: ten years of ten waters
// stay below 200 MB.
const historyMemory = 165 << 20

func (c loggedFiles) open(e *env) (from logged.Files, err error) {
	from.Zone, from.Version, from.Stop = time.UTC, version, e.ctx.Err
	if from.Said, err = c.said(); err != nil {
		return from, err
	}
	for _, f := range []struct {
		path string
		to   *intake.Source
	}{{c.File, &from.Log}, {c.Methods, &from.Methods}, {c.Need, &from.Need}} {
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
		from.Records = append(from.Records, report.Inputs{Readings: d.Inputs.Readings, Methods: d.Inputs.Methods, Need: d.Inputs.Need, Options: options, Report: path})
	}
	return from, nil
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
			return nil, knownwater.Fault{Column: "--column", Found: "%q", Want: "a heading of the log, =, and what it is: %s or -"}.Of(one, strings.Join(intake.LogColumnNames(), ", "))
		}
		out[logged.SaidColumn+one[:at]] = one[at+1:]
	}
	if len(out) == 0 {
		return nil, nil
	}
	return out, nil
}

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
			return knownwater.Fault{Column: "--" + what, Found: "%q", Want: `one %s of rows that name none, or the name in the log, =, and what it is: "Old name=Name", each once`}.Of(one, what)
		}
		said[key] = name
	}
	return nil
}
