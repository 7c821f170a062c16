package main

import (
	"fmt"
	"io"
	"os"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/exchange"
)

// commandLine is who writes into the records from here.
var commandLine = knownwater.Who{Role: knownwater.Owner, Name: "owner", Device: "command line"}

// backupCmd copies a bench, whether it is being served or not.
type backupCmd struct {
	Bench string `arg:"" help:"The bench's file." type:"bench"`
	To    string `arg:"" help:"The copy to make." type:"file"`
	replacing
}

func (c *backupCmd) Run(e *env) error {
	out := c.output(e, c.To, c.Bench)
	out.bench, out.private = true, true
	var made exchange.Copy
	err := out.place(func(path string) (err error) {
		made, err = exchange.BackupFile(e.ctx, c.Bench, path)
		return err
	})
	if err != nil {
		return err
	}
	return out.told(e, english.Say("Copied and checked: {1}, {2} trials, {3} readings.", c.To, fmt.Sprint(made.Trials), fmt.Sprint(made.Readings)))
}

// restoreCmd checks a copy and puts it in a bench's place.
type restoreCmd struct {
	Copy  string `arg:"" help:"The copy that a backup made." type:"bench"`
	Bench string `arg:"" help:"Where the bench shall stand; what stands there is kept beside it." type:"file"`
}

func (c *restoreCmd) Run(e *env) error {
	info, err := os.Lstat(c.Bench)
	if err == nil && (!info.Mode().IsRegular() || !isBench(c.Bench) && !inUse(c.Bench)) {
		return knownwater.Fault{File: c.Bench, Found: "what stands there is no bench", Want: "the file of a bench, or a name where nothing stands"}
	}
	made, err := bench.Restore(e.ctx, c.Copy, c.Bench, time.Now())
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "Checked and put at %s: %d trials, %d readings.\n", made.Path, made.Trials, made.Readings)
	if made.Aside != "" {
		fmt.Fprintf(e.out, "What stood there is now %s.\n", made.Aside)
	}
	return nil
}

// exportCmd writes everything on a bench as plain files in a zip.
type exportCmd struct {
	Bench string `arg:"" help:"The bench's file." type:"bench"`
	To    string `arg:"" help:"The zip to write; only you can read it: it holds names, and the levels of keys that are shut." type:"file"`
	replacing
}

func (c *exportCmd) Run(e *env) error {
	out := c.output(e, c.To, c.Bench)
	out.private = true
	if err := out.check(); err != nil {
		return err
	}
	b, err := bench.Open(c.Bench, bench.Options{})
	if err != nil {
		return err
	}
	defer b.Close()
	if err := out.write(func(w io.Writer) error { return b.Export(e.ctx, commandLine, w) }); err != nil {
		return err
	}
	return out.told(e, "Everything on the bench is in", c.To)
}

// importCmd fills a new bench from an export.
type importCmd struct {
	Zip   string `arg:"" help:"The zip that an export made." type:"bench"`
	Bench string `arg:"" help:"The new bench's file; nothing may stand there." type:"file"`
}

func (c *importCmd) Run(e *env) error {
	out := output{path: c.Bench, inputs: []string{c.Zip}, private: true}
	if err := out.check(); err != nil {
		return err
	}
	file, err := os.Open(c.Zip)
	if err != nil {
		return knownwater.Fault{File: c.Zip, Found: "cannot be read", Want: unwrapped(err)}
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return fmt.Errorf("look at %s: %w", c.Zip, err)
	}
	if err := out.place(func(path string) error { return bench.Import(e.ctx, file, info.Size(), path) }); err != nil {
		return err
	}
	fmt.Fprintf(e.out, "A new bench stands at %s: open it with knownwater serve --bench %s\n", c.Bench, c.Bench)
	return nil
}
