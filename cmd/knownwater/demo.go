package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"runtime/debug"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/demo"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
)

// demoCmd makes the demo trial and judges it as any other.
type demoCmd struct {
	Dir     string `help:"Folder to make the demo in." default:"knownwater-demo" type:"file"`
	Seed    uint64 `help:"Seed of the invented trial." default:"1"`
	NoServe bool   `help:"End when the report is written; otherwise the bench is opened in the browser's reach."`
	replacing
}

// files of the demo, in its folder.
const (
	demoReadings = "readings.csv"
	demoMethods  = "methods.toml"
	demoNeed     = "need.toml"
	demoTruth    = "truth.json"
	demoLog      = "log.csv"
	demoReport   = "report.html"
	demoBench    = "bench.db"
)

func (c *demoCmd) Run(e *env) error {
	t, err := c.judge(e)
	if err != nil || c.NoServe {
		return err
	}
	return c.serve(e, t)
}

// demoMemory is what the demo's judging may hold before it gives back what it no longer uses.
const demoMemory = 70 << 20

// judge makes the trial's files and its report.
func (c *demoCmd) judge(e *env) (t knownwater.Trial, err error) {
	defer holdingAtMost(demoMemory)()
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // below that bound there is no hurry
	files, err := c.files()
	if err != nil {
		return t, err
	}
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return t, knownwater.Fault{File: c.Dir, Found: "the folder cannot be made", Want: unwrapped(err)}
	}
	if err := c.check(files); err != nil { // before the work
		return t, err
	}
	in := inputFiles{readings: joined{Source: c.source(files[0])}, methods: c.source(files[1]), need: c.source(files[2])}
	t, err = in.trial(e) // read back from the files, as anybody's trial is
	if err != nil {
		return t, err
	}
	f, err := assessTrial(e.ctx, t, c.Seed, e.progress.stage("assessing"))
	if err != nil {
		return t, err
	}
	page, err := c.report(f, t, in)
	if err != nil {
		return t, err
	}
	if err := c.write(append(files, page)); err != nil {
		return t, err
	}
	if err := report.WriteText(e.out, f, t, report.Options{Width: e.width}); err != nil {
		return t, err
	}
	fmt.Fprintf(e.out, "\nThe bench, its people and its methods are invented; what is true of them is in %s.\nThe report is in %s.\n",
		c.at(demoTruth), c.at(demoReport))
	return t, nil
}

// serve puts the trial on a bench of its own, once, and opens that bench as it
// stands.
func (c *demoCmd) serve(e *env, t knownwater.Trial) error {
	path := c.at(demoBench)
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		if err := c.fill(e, path, t); err != nil {
			return err
		}
	}
	serve := serveCmd{Bench: path, Listen: freeAddress("127.0.0.1:8484")}
	fmt.Fprintln(e.out, "Ctrl-C ends it.")
	return serve.Run(e)
}

func (c *demoCmd) fill(e *env, path string, t knownwater.Trial) error {
	return output{path: path, private: true}.place(func(path string) error {
		b, err := bench.Open(path, bench.Options{})
		if err != nil {
			return err
		}
		made, err := b.ImportTrial(e.ctx, commandLine, trials.DataSet{Data: t, Title: "The Saltmarsh Shed against known water", Source: demoReadings})
		if err == nil {
			err = fillWeeks(e.ctx, b, made.ID, c.Seed, time.Now())
		}
		return errors.Join(err, b.Close())
	})
}

// freeAddress is the address wished for, or any free port of this computer.
func freeAddress(wished string) string {
	l, err := net.Listen("tcp", wished)
	if err != nil {
		return "127.0.0.1:0"
	}
	l.Close()
	return wished
}

func (c *demoCmd) at(name string) string { return filepath.Join(c.Dir, name) }

// demoFile is a file of the demo as it is written anew.
type demoFile struct {
	name string
	data []byte
}

func (c *demoCmd) source(f demoFile) intake.Source {
	return intake.Source{Name: c.at(f.name), Data: f.data}
}

// files are readings, methods, need, truth and the log of the forty weeks after the trial,
// in this order.
func (c *demoCmd) files() ([]demoFile, error) {
	t, err := demo.Trial(c.Seed)
	if err != nil {
		return nil, fmt.Errorf("making the demo trial: %w", err)
	}
	var all []demoFile
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{demoReadings, func(w io.Writer) error { return intake.WriteReadings(w, t) }},
		{demoMethods, func(w io.Writer) error {
			return intake.WriteMethods(w, intake.MethodsFile{Scale: t.Scale, Water: t.Water, WaterStated: t.WaterStated, Methods: t.Methods})
		}},
		{demoNeed, func(w io.Writer) error { return intake.WriteNeeds(w, t.Needs) }},
		{demoTruth, func(w io.Writer) error {
			enc := json.NewEncoder(w)
			enc.SetIndent("", "  ")
			return enc.Encode(demo.TruthOf(c.Seed))
		}},
		{demoLog, func(w io.Writer) error { return intake.WriteLog(w, demo.Routine(c.Seed, demo.RoutineChoices{})) }},
	} {
		var b bytes.Buffer
		if err := f.write(&b); err != nil {
			return nil, err
		}
		all = append(all, demoFile{f.name, b.Bytes()})
	}
	return all, nil
}

// report is the page as it is written now, or with the day of the one that is
// there: made again on another day, it is the same page.
func (c *demoCmd) report(f assess.Findings, t knownwater.Trial, in inputFiles) (demoFile, error) {
	inputs := in.inputs(c.Seed)
	if old, err := os.ReadFile(c.at(demoReport)); err == nil {
		if was, err := report.Open(bytes.NewReader(old)); err == nil {
			inputs.Made = was.Inputs.Made
		}
	}
	var b bytes.Buffer
	err := report.HTML(&b, f, t, inputs)
	return demoFile{demoReport, b.Bytes()}, err
}

// check refuses where a file stands that is not the demo's own, unchanged.
func (c *demoCmd) check(files []demoFile) error {
	var faults knownwater.Faults
	for _, f := range files {
		if c.stands(f) {
			continue
		}
		var fault knownwater.Fault
		if err := c.replacing.output(nil, c.at(f.name)).check(); errors.As(err, &fault) {
			if info, err := os.Lstat(fault.File); err == nil && info.Mode().IsRegular() && !c.Force {
				fault.Found, fault.Want = "is not what the demo would write: it was changed, or is of another seed or version", "another folder with --dir, or --force to replace it"
			}
			faults = append(faults, fault)
		} else if err != nil {
			return err
		}
	}
	if faults != nil {
		return faults
	}
	return nil
}

// stands says whether a file is there just as it would be written.
func (c *demoCmd) stands(f demoFile) bool {
	info, err := os.Lstat(c.at(f.name))
	if err != nil || !info.Mode().IsRegular() || info.Size() != int64(len(f.data)) {
		return false
	}
	data, err := os.ReadFile(c.at(f.name))
	return err == nil && bytes.Equal(data, f.data)
}

// write puts those files into the folder that are not there yet.
func (c *demoCmd) write(files []demoFile) error {
	if err := c.check(files); err != nil {
		return err
	}
	for _, f := range files {
		if c.stands(f) {
			continue
		}
		if err := c.replacing.output(nil, c.at(f.name)).write(func(w io.Writer) error { _, err := w.Write(f.data); return err }); err != nil {
			return err
		}
	}
	return nil
}
