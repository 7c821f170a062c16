package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
)

// recheckDigits is to how many digits a number has to come out again: other
// processors round the last ones differently.
const recheckDigits = 6

// recheckCmd computes a report again from the inputs that it carries, and makes
// the page again from them.
type recheckCmd struct {
	Report string `arg:"" help:"A page of findings written by knownwater." type:"path"`
}

func (c *recheckCmd) Run(e *env) error {
	file, err := os.Open(c.Report)
	if err != nil {
		return knownwater.Fault{File: c.Report, Found: "cannot be read", Want: unwrapped(err)}
	}
	defer file.Close()
	d, err := report.Open(file)
	if err != nil {
		return nameFile(c.Report, err)
	}
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	said := intake.Options{Sheet: d.Inputs.Options["sheet"], Method: d.Inputs.Options["method"], Analyte: d.Inputs.Options["analyte"], Stop: e.ctx.Err}
	t, err := said.Trial(source(d.Inputs.Readings), source(d.Inputs.Methods), source(d.Inputs.Need))
	if err != nil {
		return err
	}
	seed, err := strconv.ParseUint(d.Inputs.Options["seed"], 10, 64)
	if err != nil {
		seed = d.Seed
	}
	progress := newProgress(e.errOut, "computing again")
	again, err := assessTrial(e.ctx, t, seed, progress.show)
	progress.end()
	if err != nil {
		return err
	}
	faults, err := c.compare(d, again, t)
	if err != nil {
		return nameFile(c.Report, err)
	}
	if faults != nil {
		return faults
	}
	fmt.Fprintf(e.out, "Every number stands: computed again from the readings in %s, all agree to %d digits.\n", filepath.Base(c.Report), recheckDigits)
	fmt.Fprintln(e.out, "The page stands: made again from what it carries, every byte is the same.")
	if !d.SameMachine() {
		fmt.Fprintf(e.out, "(Its numbers were computed with %s, here with %s: their last digits may differ and were not held against it.)\n", orNothing(d.ComputedWith()), report.Computed())
	}
	fmt.Fprintln(e.out, "Whether the readings themselves are what was seen, no computation can say.")
	return nil
}

func orNothing(s string) string {
	if s == "" {
		return "a program that does not say which"
	}
	return s
}

// compare lists what does not stand: numbers first, then the page.
func (c *recheckCmd) compare(d report.Document, again assess.Findings, t knownwater.Trial) (faults knownwater.Faults, err error) {
	differences, err := d.Numbers(again, recheckDigits)
	if err != nil {
		return nil, err
	}
	for _, x := range differences {
		faults = append(faults, knownwater.Fault{File: c.Report, Row: d.Row(), Found: x.String()})
	}
	if d.Version != again.Version {
		say := "its numbers agree to " + strconv.Itoa(recheckDigits) + " digits, the page is unchecked"
		if len(differences) > 0 {
			say = "its numbers differ from those of this version, the page is unchecked"
		}
		by := "version " + d.Version
		if d.Version == "" {
			by = "a version that it does not name"
		}
		return append(faults, knownwater.Fault{File: c.Report, Found: fmt.Sprintf("made by %s, this is version %s: %s", by, again.Version, say), Want: "knownwater " + d.Version + " can check it"}), nil
	}
	changes, err := d.Changes(again, t, recheckDigits)
	for _, x := range changes {
		faults = append(faults, knownwater.Fault{File: c.Report, Row: x.Row, Found: x.Found(), Want: x.Want()})
	}
	return faults, err
}

// nameFile names the file in a fault that knows none.
func nameFile(path string, err error) error {
	var f knownwater.Fault
	if errors.As(err, &f) && f.File == "" {
		f.File = path
		return f
	}
	return err
}
