package main

import (
	"encoding/json"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"

	"knownwater"
	"knownwater/bench"
	"knownwater/demo"
	"knownwater/intake"
	"knownwater/report"
)

// demoCmd makes the demo trial and judges it as any other.
type demoCmd struct {
	Dir     string `help:"Folder to make the demo in." default:"knownwater-demo" type:"path"`
	Seed    uint64 `help:"Seed of the invented trial." default:"1"`
	NoServe bool   `help:"End when the report is written; otherwise the bench is opened in the browser's reach."`
}

// files of the demo, in its folder.
const (
	demoReadings = "readings.csv"
	demoMethods  = "methods.toml"
	demoNeed     = "need.toml"
	demoTruth    = "truth.json"
	demoReport   = "report.html"
	demoBench    = "bench.db"
)

func (c *demoCmd) Run(e *env) error {
	if err := c.write(); err != nil {
		return err
	}
	in, err := c.assess().open()
	if err != nil {
		return err
	}
	t, err := in.trial() // read back from the files, as anybody's trial is
	if err != nil {
		return err
	}
	progress := newProgress(e.errOut, "assessing")
	f, err := assessTrial(e.ctx, t, c.Seed, progress.show)
	progress.end()
	if err != nil {
		return err
	}
	if err := report.WriteText(e.out, f, t, report.Options{}); err != nil {
		return err
	}
	page := filepath.Join(c.Dir, demoReport)
	if err := writeWhole(page, func(w io.Writer) error { return report.HTML(w, f, t, in.inputs(c.Seed)) }); err != nil {
		return err
	}
	fmt.Fprintf(e.out, "\nThe bench, its people and its methods are invented; what is true of them is in %s.\nThe report is in %s.\n",
		filepath.Join(c.Dir, demoTruth), page)
	if c.NoServe {
		return nil
	}
	return c.serve(e, t)
}

// serve puts the trial on a bench of its own, once, and opens that bench.
func (c *demoCmd) serve(e *env, t knownwater.Trial) error {
	path := filepath.Join(c.Dir, demoBench)
	if err := c.fill(e, path, t); err != nil {
		return err
	}
	serve := serveCmd{Bench: path, Listen: freeAddress("127.0.0.1:8484")}
	fmt.Fprintln(e.out, "Ctrl-C ends it.")
	return serve.Run(e)
}

func (c *demoCmd) fill(e *env, path string, t knownwater.Trial) error {
	b, err := bench.Open(path, bench.Options{})
	if err != nil {
		return err
	}
	defer b.Close()
	trials, err := b.Trials(e.ctx)
	if err != nil || len(trials) > 0 {
		return err
	}
	_, err = b.ImportTrial(e.ctx, commandLine, t, "The Saltmarsh Shed against known water", demoReadings)
	return err
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

func (c *demoCmd) assess() *assessCmd {
	at := func(name string) string { return filepath.Join(c.Dir, name) }
	return &assessCmd{Readings: at(demoReadings), Methods: at(demoMethods), Need: at(demoNeed), Seed: c.Seed}
}

// write puts the trial's files into the folder.
func (c *demoCmd) write() error {
	t, err := demo.Trial(c.Seed)
	if err != nil {
		return fmt.Errorf("making the demo trial: %w", err)
	}
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return knownwater.Fault{File: c.Dir, Found: "the folder cannot be made", Want: unwrapped(err)}
	}
	methods := intake.MethodsFile{Scale: t.Scale, Water: t.Water, WaterStated: t.WaterStated, Methods: t.Methods}
	for _, f := range []struct {
		name  string
		write func(io.Writer) error
	}{
		{demoReadings, func(w io.Writer) error { return intake.WriteReadings(w, t) }},
		{demoMethods, func(w io.Writer) error { return intake.WriteMethods(w, methods) }},
		{demoNeed, func(w io.Writer) error { return intake.WriteNeeds(w, t.Needs) }},
		{demoTruth, func(w io.Writer) error {
			enc := json.NewEncoder(w)
			enc.SetIndent("", "  ")
			return enc.Encode(demo.TruthOf(c.Seed))
		}},
	} {
		if err := writeWhole(filepath.Join(c.Dir, f.name), f.write); err != nil {
			return err
		}
	}
	return nil
}
