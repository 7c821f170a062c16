package main

import (
	"bytes"
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/intake"
	"knownwater/logged"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// chooseCmd says which method to use for which need.
type chooseCmd struct {
	Report      []string `arg:"" help:"Pages of findings written by knownwater: one trial each." type:"file"`
	Need        string   `required:"" help:"need.toml: what results are needed for, and what you will spend on them." type:"file"`
	TestsAMonth float64  `help:"Answers wanted a month, instead of each need's own."`
	Curve       []string `sep:"none" placeholder:"[METHOD=]CURVE.JSON" help:"A curve, as curve fit --out wrote it, as one more way; by METHOD of the reports, whose tests have a price."`
	Readers     int      `help:"People who read, instead of each need's own; one if nobody says."`
	Evening     float64  `help:"Minutes that an evening has, for the next experiment." default:"120"`
	JSON        bool     `name:"json" help:"Print one JSON object."`
}

func (c *chooseCmd) Run(e *env) error {
	if err := c.check(); err != nil {
		return err
	}
	source, err := e.source(c.Need)
	if err != nil {
		return err
	}
	needs, err := intake.Needs(source)
	if err != nil {
		return err
	}
	trials, err := c.trials(e, needs)
	if err != nil {
		return err
	}
	curves, err := c.curves(e, trials[0].Trial, trials)
	if err != nil {
		return err
	}
	trials = append(trials, curves...)
	if needs, err = knownwater.NeedsOf(needs, trials[0].Trial.Scale); err != nil {
		return nameFile(c.Need, err)
	}
	out := choose.Of(needs, trials, choose.Options{TestsAMonth: c.TestsAMonth, Readers: c.Readers})
	next := choose.Next(out, trials, choose.Ahead{Minutes: c.Evening, Stop: func() bool { return e.ctx.Err() != nil }, Progress: e.progress.stage("looking for the next experiment")})
	if err := e.ctx.Err(); err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(e.out, report.ChooseJSON(out, next))
	}
	return report.ChooseText(e.out, out, next, trials[0].Trial.Scale)
}

// check finds what the flags cannot mean.
func (c *chooseCmd) check() error {
	var faults knownwater.Faults
	if !(c.TestsAMonth >= 0 && c.TestsAMonth <= 1000) {
		faults = append(faults, knownwater.Fault{Column: "--tests-a-month", Found: fmt.Sprint(c.TestsAMonth), Want: "answers a month, from 0 to 1000"})
	}
	if c.Readers < 0 || c.Readers > 100 {
		faults = append(faults, knownwater.Fault{Column: "--readers", Found: fmt.Sprint(c.Readers), Want: "people who read, from 1 to 100"})
	}
	if !(c.Evening > 0 && c.Evening <= 10000) {
		faults = append(faults, knownwater.Fault{Column: "--evening", Found: fmt.Sprint(c.Evening), Want: "minutes above 0, such as 120"})
	}
	if faults != nil {
		return faults
	}
	return nil
}

// trials are those of the reports, judged for the needs: what a report found where it was
// asked for the same and this version wrote it, else worked out again from its inputs.
func (c *chooseCmd) trials(e *env, needs []knownwater.Need) (out []choose.Trial, err error) {
	var faults knownwater.Faults
	for i, path := range c.Report {
		if slices.Contains(c.Report[:i], path) {
			faults = append(faults, knownwater.Fault{File: path, Found: "the report is given twice", Want: "each report once"})
			continue
		}
		file, err := e.source(path)
		if err != nil {
			return nil, err
		}
		t, err := c.trial(e, file, needs)
		if err != nil {
			return nil, nameFile(path, err)
		}
		if len(c.Report) > 1 {
			t.Name = strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
		}
		if i > 0 && t.Trial.Scale != out[0].Trial.Scale {
			faults = append(faults, knownwater.Fault{File: path, Found: "its findings are in %s",
				Want: "findings in %s, as in %s: assess its readings with that unit and basis in methods.toml"}.Of(scaleWords(t.Trial.Scale), scaleWords(out[0].Trial.Scale), filepath.Base(c.Report[0])))
			continue
		}
		out = append(out, t)
	}
	if faults != nil {
		return nil, faults
	}
	return out, nil
}

// curves are the ways by curves.
func (c *chooseCmd) curves(e *env, like knownwater.Trial, trials []choose.Trial) (out []choose.Trial, err error) {
	judge := func(t knownwater.Trial) assess.Findings {
		return assess.Run(t, assess.Options{Version: version, Stop: func() bool { return e.ctx.Err() != nil }})
	}
	var faults knownwater.Faults
	for _, said := range c.Curve {
		named, path, ok := strings.Cut(said, "=")
		if !ok {
			named, path = "", said
		}
		d, err := openCurve(e, path)
		if err != nil {
			return nil, err
		}
		name := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
		method := knownwater.Method{Name: cmp.Or(named, name)}
		found := named == ""
		for _, t := range trials {
			for _, m := range t.Trial.Methods {
				if m.Name == named {
					method, found = m, true
				}
			}
		}
		if !found {
			faults = append(faults, knownwater.Fault{Column: "--curve", Found: "%s", Want: "a method of the reports: %s"}.Of(reading.Quote(named), strings.Join(methodNames(trials), ", ")))
			continue
		}
		if until := d.Scope.ValidUntil; until != "" && until < today().Format(time.DateOnly) {
			faults = append(faults, knownwater.Fault{File: path, Found: "the curve was to be relied on until %s", Want: "a curve that still holds: curve recheck says so from a blank and a known"}.Of(until))
			continue
		}
		t, err := choose.OfCurve(name, d, method, like, judge)
		if err != nil {
			return nil, nameFile(path, err)
		}
		out = append(out, t)
	}
	if faults != nil {
		return nil, faults
	}
	return out, e.ctx.Err()
}

func methodNames(trials []choose.Trial) (names []string) {
	for _, t := range trials {
		for _, m := range t.Trial.Methods {
			names = append(names, m.Name)
		}
	}
	return names
}

func scaleWords(s unit.Scale) string { return strings.TrimSpace(s.Analyte + " " + s.String()) }

func (c *chooseCmd) trial(e *env, file intake.Source, needs []knownwater.Need) (t choose.Trial, err error) {
	inputs, findings, err := report.Extract(bytes.NewReader(file.Data))
	if err != nil {
		return t, err
	}
	d := report.Document{Inputs: inputs, Seed: findings.Seed}
	trial, seed, err := logged.TrialOf(d.Inputs, d.Seed)
	if err != nil {
		return t, err
	}
	judged := trial.Needs
	if needs == nil { // its own
		needs = judged
	}
	if needs, err = knownwater.NeedsOf(needs, trial.Scale); err != nil {
		return t, err
	}
	trial.Needs = needs
	if findings.Version == version && choose.Judged(judged, needs) {
		return choose.Trial{Trial: trial, Findings: findings}, nil
	}
	findings, err = assessTrial(e.ctx, trial, seed, e.progress.stage("judging for these needs"))
	return choose.Trial{Trial: trial, Findings: findings}, err
}
