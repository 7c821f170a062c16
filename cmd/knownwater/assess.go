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

	"golang.org/x/term"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
)

// assessCmd judges methods from files, without a bench.
type assessCmd struct {
	Readings string `arg:"" help:"readings.csv or .xlsx: one row a reading, or one column a method. - is standard input." type:"path"`
	Methods  string `help:"methods.toml: the methods' kinds, swatches, digits." type:"path"`
	Need     string `help:"need.toml: what single results are needed for." type:"path"`
	Sheet    string `help:"The sheet of the workbook to read, instead of the first."`
	Method   string `help:"The method that read a table that names none; of one that names several, the one to judge."`
	Analyte  string `help:"Of a table with a column analyte, the one to judge."`
	JSON     bool   `name:"json" help:"Print the findings as one JSON object." xor:"form"`
	HTML     string `name:"html" help:"Write the findings to this file as a page that carries its inputs." type:"path" xor:"form"`
	Table    string `help:"Write the findings to this file as a table: .csv level by level, .xlsx a sheet for each kind of fact." type:"path" xor:"form"`
	Figures  string `help:"Write the figures to this .zip file, each as SVG and PNG." type:"path" xor:"form"`
	Full     bool   `help:"Print everything, not the answer alone." xor:"form"`
	Seed     uint64 `help:"Seed of the random draws; the same seed gives the same numbers." default:"1"`
	replacing
}

func (c *assessCmd) Run(e *env) error {
	file := c.output(cmp.Or(c.HTML, c.Table, c.Figures), c.Readings, c.Methods, c.Need)
	if err := file.check(); err != nil {
		return err
	}
	if kind := filepath.Ext(c.Table); c.Table != "" && kind != ".csv" && kind != ".xlsx" {
		return knownwater.Fault{Column: "--table", Found: fmt.Sprintf("%q", filepath.Base(c.Table)), Want: "a name that ends in .csv or .xlsx"}
	}
	in, err := c.open(e)
	if err != nil {
		return err
	}
	t, err := in.trial(e)
	if err != nil {
		return err
	}
	progress := newProgress(e.errOut, "assessing")
	f, err := assessTrial(e.ctx, t, c.Seed, progress.show)
	progress.end()
	if err != nil {
		return err
	}
	if c.JSON {
		return report.JSON(e.out, f)
	}
	if file.path == "" {
		return report.WriteText(e.out, f, t, report.Options{Width: widthOf(e.out), Full: c.Full})
	}
	err = file.write(func(w io.Writer) error {
		switch {
		case c.HTML != "":
			return report.HTML(w, f, t, in.inputs(c.Seed))
		case c.Figures != "":
			return report.Figures(w, f, t)
		case filepath.Ext(c.Table) == ".csv":
			return report.CSV(w, f)
		}
		return report.XLSX(w, f, t)
	})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(e.out, "The findings are in", file.path)
	return err
}

// widthOf is how wide a terminal is; 0 where the output is none.
func widthOf(out io.Writer) int {
	if f, ok := out.(*os.File); ok {
		if width, _, err := term.GetSize(int(f.Fd())); err == nil {
			return width
		}
	}
	return 0
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
	readings, methods, need intake.Source
	said                    intake.Options // and what was said beside them
}

func (c *assessCmd) open(e *env) (in inputFiles, err error) {
	in.said = intake.Options{Sheet: c.Sheet, Method: c.Method, Analyte: c.Analyte}
	for _, f := range []struct {
		path string
		to   *intake.Source
	}{{c.Readings, &in.readings}, {c.Methods, &in.methods}, {c.Need, &in.need}} {
		if f.path == "" {
			continue
		}
		if *f.to, err = c.openOne(e, f.path); err != nil {
			return in, err
		}
	}
	return in, nil
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
	return openOrStdin(e, path)
}

// mostStdin bounds what is taken in from standard input, which has no size.
const mostStdin = 4 << 30

// openOrStdin reads a file whole, or standard input for the name -.
func openOrStdin(e *env, path string) (intake.Source, error) {
	if path != "-" {
		return openSource(path)
	}
	data, err := io.ReadAll(io.LimitReader(e.in, mostStdin+1))
	switch {
	case err != nil:
		return intake.Source{}, knownwater.Fault{File: "standard input", Found: "cannot be read", Want: unwrapped(err)}
	case len(data) > mostStdin:
		return intake.Source{}, knownwater.Fault{File: "standard input", Found: fmt.Sprintf("more than %d GB", mostStdin>>30), Want: "a file"}
	}
	return intake.Source{Name: "standard input", Data: data}, nil
}

// openSource reads a file whole.
func openSource(path string) (intake.Source, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return intake.Source{}, knownwater.Fault{File: path, Found: "cannot be read", Want: unwrapped(err)}
	}
	return intake.Source{Name: path, Data: data}, nil
}

// unwrapped is what the system said, without the path that stands before it.
func unwrapped(err error) string {
	if pe, ok := err.(*os.PathError); ok {
		return pe.Err.Error()
	}
	return err.Error()
}

func (in inputFiles) trial(e *env) (knownwater.Trial, error) {
	o := in.said
	o.Stop = e.ctx.Err
	// What reading holds is bounded; so is what waits to be given back.
	size := int64(len(in.readings.Data)+len(in.methods.Data)) + in.readings.Size
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(100<<20 + 3*size))
	return o.Trial(in.readings, in.methods, in.need)
}

func (in inputFiles) inputs(seed uint64) report.Inputs {
	file := func(s intake.Source) report.File { return report.File{Name: s.Name, Data: s.Data} }
	return report.Inputs{
		Readings: file(in.readings), Methods: file(in.methods), Need: file(in.need),
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

// progress is one line on a terminal, shown only when work takes over a second.
type progress struct {
	out     io.Writer
	what    string
	started time.Time
	shown   bool
	silent  bool
}

func newProgress(out io.Writer, what string) *progress {
	f, ok := out.(*os.File)
	return &progress{out: out, what: what, started: time.Now(), silent: !ok || !term.IsTerminal(int(f.Fd()))}
}

func (p *progress) show(done, all int) {
	if p.silent || time.Since(p.started) < time.Second {
		return
	}
	p.shown = true
	fmt.Fprintf(p.out, "\r%s: %d of %d", p.what, done, all)
}

func (p *progress) end() {
	if p.shown {
		fmt.Fprint(p.out, "\r\033[K")
	}
}
