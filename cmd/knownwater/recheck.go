package main

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/intake"
	"knownwater/logged"
	"knownwater/report"
	"knownwater/science/assess"
)

// recheckDigits is to how many digits a number has to come out again: other
// processors round the last ones differently.
const recheckDigits = 6

// recheckCmd computes a report again from the inputs that it carries, and makes
// the page again from them.
type recheckCmd struct {
	Report []string `arg:"" help:"Pages of findings, of a log's history or of an experiment, written by knownwater." type:"file"`
}

func (c *recheckCmd) Run(e *env) error {
	var faults knownwater.Faults
	signed := map[string][]string{} // by the fingerprint of a bench
	for _, path := range c.Report {
		p, err := verifyAny(e, path)
		var one knownwater.Fault
		var several knownwater.Faults
		switch {
		case errors.As(err, &several):
			faults = append(faults, several...)
			continue
		case errors.As(err, &one):
			faults = append(faults, one)
			continue
		case err != nil:
			return err
		}
		if len(c.Report) > 1 {
			fmt.Fprintf(e.out, "%s:\n", filepath.Base(path))
		}
		p.say(e)
		if p.signedBy != "" {
			signed[p.signedBy] = append(signed[p.signedBy], filepath.Base(path))
		}
	}
	for _, by := range slices.Sorted(maps.Keys(signed)) {
		if names := signed[by]; len(names) > 1 {
			fmt.Fprintf(e.out, "%s is signed by the same bench as %s.\n", names[len(names)-1], strings.Join(names[:len(names)-1], ", "))
		}
	}
	if faults != nil {
		return faults
	}
	return nil
}

// verified is a page that stands.
type verified struct {
	path     string
	doc      report.Document
	trial    knownwater.Trial
	findings assess.Findings
	signedBy string
}

// verify computes a page of a trial and its findings again; the error is what does not stand.
func verify(e *env, path string) (p verified, err error) {
	if p, err = apart(e, path); err == nil && p.doc.OfLog() {
		err = knownwater.Fault{File: path, Found: "a page of a log", Want: "a trial's report"}
	}
	if err != nil {
		return p, err
	}
	return p.ofTrial(e)
}

// verifyAny takes pages of logs, too.
func verifyAny(e *env, path string) (p verified, err error) {
	if p, err = apart(e, path); err != nil {
		return p, err
	}
	if p.doc.OfLog() {
		return p, p.ofLog(e)
	}
	return p.ofTrial(e)
}

func apart(e *env, path string) (p verified, err error) {
	p.path = path
	file, err := e.source(path)
	if err != nil {
		return p, err
	}
	if p.doc, err = report.Apart(bytes.NewReader(file.Data)); err != nil {
		return p, nameFile(path, err)
	}
	if p.signedBy, err = p.doc.SignedBy(); err != nil {
		return p, nameFile(path, err)
	}
	return p, nil
}

func (p verified) ofTrial(e *env) (verified, error) {
	d := p.doc
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	said := intake.Options{Sheet: d.Inputs.Options["sheet"], Method: d.Inputs.Options["method"], Analyte: d.Inputs.Options["analyte"], Stop: e.ctx.Err}
	t, err := said.Trial(source(d.Inputs.Readings), source(d.Inputs.Methods), source(d.Inputs.Need))
	if err != nil {
		return p, err
	}
	seed, err := strconv.ParseUint(d.Inputs.Options["seed"], 10, 64)
	if err != nil {
		seed = d.Seed
	}
	again, err := assessTrial(e.ctx, t, seed, e.progress.stage("computing again"))
	if err != nil {
		return p, err
	}
	p.trial, p.findings = t, again
	faults, err := p.compare()
	if err != nil {
		return p, nameFile(p.path, err)
	}
	if faults != nil {
		return p, faults
	}
	return p, nil
}

// ofLog computes a log's history, or the experiment that it was judged by, again and makes its page again.
func (p verified) ofLog(e *env) error {
	again, err := loggedAgain(logged.From(p.doc.Inputs, version, e.ctx.Err), p.doc)
	if err != nil {
		return err
	}
	differences, err := p.doc.LoggedNumbers(again, recheckDigits)
	if err != nil {
		return nameFile(p.path, err)
	}
	faults := p.numbers(differences)
	if p.doc.Version != version {
		return p.otherVersion(len(differences) > 0, faults)
	}
	changes, err := p.doc.LoggedChanges(again, recheckDigits)
	if err != nil {
		return nameFile(p.path, err)
	}
	if faults = append(faults, p.bytes(changes)...); faults != nil {
		return faults
	}
	return nil
}

// loggedAgain is a page about a log, computed from what it carries.
func loggedAgain(from logged.Files, d report.Document) (report.LoggedPage, error) {
	if d.OfExperiment() {
		p, err := from.Effect()
		p.Inputs = d.Inputs
		return p, err
	}
	p, err := from.Judged()
	p.Inputs = d.Inputs
	return p, err
}

// say tells what stands.
func (p verified) say(e *env) {
	fmt.Fprintf(e.out, "Every number stands: computed again from the readings in %s, all agree to %d digits.\n", filepath.Base(p.path), recheckDigits)
	if p.doc.SameMachine() {
		fmt.Fprintln(e.out, "The page stands: made again from what it carries, every byte is the same.")
	} else {
		fmt.Fprintln(e.out, "The page stands: made again from what it carries, all but last digits of numbers is the same.")
		fmt.Fprintf(e.out, "(It says that it was computed with %s, here it was with %s: numbers that agree to %d digits were not held against it.)\n", orNothing(p.doc.ComputedWith()), report.Computed(), recheckDigits)
	}
	if s := p.doc.Inputs.Seal; s != nil {
		fmt.Fprintf(e.out, "The key is the one that was sealed: with its salt it gives the commitment %s; compare that with a run sheet from before.\n", knownwater.Grouped(s.Commitment))
	}
	if p.signedBy != "" {
		fmt.Fprintf(e.out, "Signed by the bench with the fingerprint %s.\n", p.signedBy)
	}
	fmt.Fprintln(e.out, "Whether the readings themselves are what was seen, no computation can say.")
}

func orNothing(s string) string {
	if s == "" {
		return "a program that does not say which"
	}
	return s
}

// compare lists what does not stand: numbers first, then the page.
func (p verified) compare() (faults knownwater.Faults, err error) {
	d, again := p.doc, p.findings
	differences, err := d.Numbers(again, recheckDigits)
	if err != nil {
		return nil, err
	}
	faults = p.numbers(differences)
	if s := d.Inputs.Seal; s != nil {
		for _, x := range s.Verify(p.trial) {
			if x.Row > 0 {
				x = knownwater.Fault{Found: "in line %d of its readings: %s", Want: "%s"}.Of(x.Row, x.Found, x.Want)
			}
			x.File, x.Row, x.Column = p.path, d.Row(), ""
			faults = append(faults, x)
		}
	}
	if d.Version != again.Version {
		return p.otherVersion(len(differences) > 0, faults), nil
	}
	changes, err := d.Changes(again, p.trial, recheckDigits)
	return append(faults, p.bytes(changes)...), err
}

// numbers are the faults of numbers that do not come out again.
func (p verified) numbers(differences []report.Difference) (faults knownwater.Faults) {
	for _, x := range differences {
		faults = append(faults, knownwater.Fault{File: p.path, Row: p.doc.Row(), Found: x.String()})
	}
	return faults
}

// bytes are those of a page that is not made again as it stands.
func (p verified) bytes(changes []report.Change) (faults knownwater.Faults) {
	for _, x := range changes {
		faults = append(faults, knownwater.Fault{File: p.path, Row: x.Row, Found: x.Found(), Want: x.Want()})
	}
	return faults
}

// otherVersion says that another version made the page, before what differs: it is why.
func (p verified) otherVersion(differ bool, faults knownwater.Faults) knownwater.Faults {
	d := p.doc
	say := english.Say("its numbers agree to {1} digits, the page is unchecked", strconv.Itoa(recheckDigits))
	if differ {
		say = english.Say("its numbers differ from those of this version, the page is unchecked")
	}
	by := english.Say("version {1}", d.Version)
	if d.Version == "" {
		by = english.Say("a version that it does not name")
	}
	other := knownwater.Fault{File: p.path, Found: "made by %s, this is version %s: %s", Want: "knownwater %s can check it"}.Of(by, version, say, d.Version)
	if d.Version == "" {
		other = knownwater.Fault{File: p.path, Found: "made by %s, this is version %s: %s", Want: "the version that made it can check it"}.Of(by, version, say)
	}
	return append(knownwater.Faults{other}, faults...)
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
