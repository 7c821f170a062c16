package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"knownwater"
	"knownwater/demo"
)

// samplesCmd writes files to try the other commands on.
type samplesCmd struct {
	Dir string `arg:"" help:"Folder to write them to; it is made if there is none." type:"file"`
	replacing
}

// samplesAbout says of each file what it is for, in the order in which they are told.
var samplesAbout = []struct{ name, about string }{
	{demoReadings, "a trial: one row a reading"},
	{demoMethods, "its methods"},
	{demoNeed, "what single results are needed for"},
	{demoLog, "forty weeks of routine readings and checks"},
	{"wide.csv", "a trial as people keep it: a column a method"},
	{"wide-methods.toml", "its methods"},
	{"hold.toml", "a need in words, for choose"},
	{"routine.toml", "a need of one range, for curves"},
	{"points.csv", "signals of knowns, for a curve"},
	{"display.csv", "what a display with a wrong program showed"},
	{"pure.csv", "signals of knowns in pure water"},
	{"salt.csv", "the same in salt mix"},
	{"tank.csv", "signals after known additions to a tank's water"},
	{"spectra.csv", "spectra of a blank, knowns and yellow water"},
	{"shelf.toml", "stocks, glassware and a scale"},
	{"additions.csv", "readings after known additions to a salt mix"},
}

func (c *samplesCmd) Run(e *env) error {
	made, err := (&demoCmd{Seed: 1}).files()
	if err != nil {
		return err
	}
	data := map[string][]byte{}
	for _, f := range made {
		data[f.name] = f.data
	}
	more, err := demo.Samples()
	if err != nil {
		return fmt.Errorf("samples: %w", err)
	}
	for _, f := range more {
		data[f.Name] = f.Data
	}
	if err := os.MkdirAll(c.Dir, 0o755); err != nil {
		return knownwater.Fault{File: c.Dir, Found: "the folder cannot be made", Want: unwrapped(err)}
	}
	var faults knownwater.Faults
	for _, f := range samplesAbout { // all or none
		var fault knownwater.Fault
		if err := c.output(e, filepath.Join(c.Dir, f.name)).check(); errors.As(err, &fault) {
			faults = append(faults, fault)
		}
	}
	if faults != nil {
		return faults
	}
	for _, f := range samplesAbout {
		if err := c.output(e, filepath.Join(c.Dir, f.name)).write(func(w io.Writer) error { _, err := w.Write(data[f.name]); return err }); err != nil {
			return err
		}
		fmt.Fprintf(e.out, "%-18s  %s\n", f.name, f.about)
	}
	_, err = fmt.Fprintf(e.out, "All of it is invented. It is in %s; what to do with it: knownwater help\n", c.Dir)
	return err
}
