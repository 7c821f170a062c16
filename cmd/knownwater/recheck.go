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
)

// recheckDigits is to how many digits a number has to come out again: other
// processors round the last ones differently.
const recheckDigits = 6

// recheckCmd computes a report again from the inputs that it carries.
type recheckCmd struct {
	Report string `arg:"" help:"A page of findings written by knownwater." type:"path"`
}

func (c *recheckCmd) Run(e *env) error {
	file, err := os.Open(c.Report)
	if err != nil {
		return knownwater.Fault{File: c.Report, Found: "cannot be read", Want: unwrapped(err)}
	}
	defer file.Close()
	in, printed, err := report.Extract(file)
	if err != nil {
		return nameFile(c.Report, err)
	}
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	t, err := intake.Trial(source(in.Readings), source(in.Methods), source(in.Need))
	if err != nil {
		return err
	}
	seed, err := strconv.ParseUint(in.Options["seed"], 10, 64)
	if err != nil {
		seed = printed.Seed
	}
	again, err := assessTrial(e.ctx, t, seed, nil)
	if err != nil {
		return err
	}
	differences, err := report.Compare(printed, again, recheckDigits)
	if err != nil {
		return err
	}
	if printed.Version != version {
		fmt.Fprintf(e.out, "The page was made by version %s; this is version %s.\n", printed.Version, version)
	}
	if len(differences) == 0 {
		fmt.Fprintf(e.out, "Every number stands: computed again from the readings in %s, all agree to %d digits.\n", filepath.Base(c.Report), recheckDigits)
		return nil
	}
	var faults knownwater.Faults
	for _, d := range differences {
		faults = append(faults, knownwater.Fault{File: c.Report, Found: d.String()})
	}
	return faults
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
