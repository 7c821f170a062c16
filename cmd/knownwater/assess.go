package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
)

// assessCmd judges methods from files, without a bench.
type assessCmd struct {
	Readings []string `arg:"" help:"readings.csv or .xlsx: one row a reading, or one column a method. Several CSV files with one header are one table. - is standard input." type:"file"`
	Methods  string   `help:"methods.toml: the methods' kinds, swatches, digits." type:"file"`
	Need     string   `help:"need.toml: what single results are needed for." type:"file"`
	Sheet    string   `help:"The sheet of the workbook to read, instead of the first."`
	Method   string   `help:"The method that read a table that names none; of one that names several, the one to judge."`
	Analyte  string   `help:"Of a table with a column analyte, the one to judge."`
	JSON     bool     `name:"json" help:"Print the findings as one JSON object." xor:"form"`
	HTML     string   `name:"html" help:"Write the findings to this file as a page that carries its inputs." type:"file" xor:"form"`
	Table    string   `help:"Write the findings to this file as a table: .csv level by level, .xlsx a sheet for each kind of fact." type:"file" xor:"form"`
	Figures  string   `help:"Write the figures to this .zip file, each as SVG and PNG." type:"file" xor:"form"`
	Full     bool     `help:"Print everything, not the answer alone." xor:"form"`
	Seed     uint64   `help:"Seed of the random draws; the same seed gives the same numbers." default:"1"`
	replacing
}

func (c *assessCmd) Run(e *env) error {
	file := c.output(e, cmp.Or(c.HTML, c.Table, c.Figures), append(c.Readings, c.Methods, c.Need)...)
	if err := file.check(); err != nil {
		return err
	}
	if kind := filepath.Ext(c.Table); c.Table != "" && c.Table != "-" && kind != ".csv" && kind != ".xlsx" {
		return knownwater.Fault{Column: "--table", Found: fmt.Sprintf("%q", filepath.Base(c.Table)), Want: "a name that ends in .csv or .xlsx, or - for CSV on standard output"}
	}
	in, err := c.open(e)
	if err != nil {
		return err
	}
	t, err := in.trial(e)
	if err != nil {
		return in.readings.place(err)
	}
	f, err := assessTrial(e.ctx, t, c.Seed, e.progress.stage("assessing"))
	if err != nil {
		return err
	}
	if c.JSON {
		return report.JSON(e.out, f)
	}
	if file.path == "" {
		return report.WriteText(e.out, f, t, report.Options{Width: e.width, Full: c.Full})
	}
	err = file.write(func(w io.Writer) error {
		switch {
		case c.HTML != "":
			return report.HTML(w, f, t, in.inputs(c.Seed))
		case c.Figures != "":
			return report.Figures(w, f, t)
		case filepath.Ext(c.Table) != ".xlsx":
			return report.CSV(w, f)
		}
		return report.XLSX(w, f, t)
	})
	if err != nil {
		return err
	}
	return file.told(e, "The findings are in", file.path)
}

// engine judges a trial. The tests have one in its place that remembers.
var engine = assess.Run

// assessTrial runs the engine and gives up when the person does.
func assessTrial(ctx context.Context, t knownwater.Trial, seed uint64, progress func(done, all int)) (assess.Findings, error) {
	f := engine(t, assess.Options{
		Seed: seed, Version: version, Progress: progress,
		Stop: func() bool { return ctx.Err() != nil },
	})
	return f, ctx.Err()
}

// inputFiles are the files of an assessment as they were handed in.
type inputFiles struct {
	readings      joined
	methods, need intake.Source
	said          intake.Options // and what was said beside them
}

func (c *assessCmd) open(e *env) (in inputFiles, err error) {
	in.said = intake.Options{Sheet: c.Sheet, Method: c.Method, Analyte: c.Analyte}
	if len(c.Readings) == 1 {
		in.readings.Source, err = c.openOne(e, c.Readings[0])
	} else {
		in.readings, err = e.join(c.Readings)
	}
	for _, f := range []struct {
		path string
		to   *intake.Source
	}{{c.Methods, &in.methods}, {c.Need, &in.need}} {
		if f.path == "" || err != nil {
			continue
		}
		*f.to, err = c.openOne(e, f.path)
	}
	return in, err
}

// large is from where on a file is not taken in whole.
const large = 8 << 20

// openOne reads a file whole, unless it is large and no page is to carry it: then
// it is read piece by piece.
func (c *assessCmd) openOne(e *env, path string) (intake.Source, error) {
	if info, err := os.Stat(path); c.HTML == "" && err == nil && info.Mode().IsRegular() && info.Size() > large {
		file, err := os.Open(path)
		if err != nil {
			return intake.Source{}, knownwater.Fault{File: path, Found: "cannot be read", Want: unwrapped(err)}
		}
		return intake.Source{Name: path, File: file, Size: info.Size()}, nil // open until the program ends
	}
	return e.source(path)
}

func (in inputFiles) trial(e *env) (knownwater.Trial, error) {
	o := in.said
	o.Stop = e.ctx.Err
	// What reading holds is bounded; so is what waits to be given back.
	size := int64(len(in.readings.Data)+len(in.methods.Data)) + in.readings.Size
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(100<<20 + 3*size))
	return o.Trial(in.readings.Source, in.methods, in.need)
}

func (in inputFiles) inputs(seed uint64) report.Inputs {
	file := func(s intake.Source) report.File { return report.File{Name: s.Name, Data: s.Data} }
	return report.Inputs{
		Readings: file(in.readings.Source), Methods: file(in.methods), Need: file(in.need),
		Options: saidOptions(in.said, seed),
		Made:    time.Now().Format("2 January 2006"),
	}
}

// saidOptions are what was said beside the files, as a page carries it.
func saidOptions(o intake.Options, seed uint64) map[string]string {
	said := map[string]string{"seed": fmt.Sprint(seed)}
	for name, value := range map[string]string{"sheet": o.Sheet, "method": o.Method, "analyte": o.Analyte} {
		if value != "" {
			said[name] = value
		}
	}
	return said
}
