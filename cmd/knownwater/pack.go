package main

import (
	"io"
	"path/filepath"
	"strings"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/choose"
)

// packCmd publishes a report as a pack that others can use.
type packCmd struct {
	Report  string `arg:"" help:"The report to publish; it has to stand first." type:"file"`
	Out     string `required:"" help:"Write the pack to this .zip file." type:"file"`
	Licence string `required:"" help:"What others may do with it: CC0-1.0, CC-BY-4.0, CC-BY-SA-4.0, ODbL-1.0 or all-rights-reserved."`
	Author  string `help:"Who is named as its author."`
	Title   string `help:"Its title; else the name of the file."`
	replacing
}

func (c *packCmd) Run(e *env) error {
	out := c.output(e, c.Out, c.Report)
	if err := out.check(); err != nil {
		return err
	}
	if _, ok := report.LicenceSays(c.Licence); !ok {
		return knownwater.Fault{Column: "--licence", Found: c.Licence, Want: report.LicenceNames()}
	}
	file, err := openSource(c.Report)
	if err != nil {
		return err
	}
	p, err := verify(e, c.Report)
	if err != nil {
		return err
	}
	pack := report.Pack{Page: file.Data, Inputs: p.doc.Inputs, Findings: p.findings, Trial: p.trial, Title: c.Title, Author: c.Author, Licence: c.Licence}
	if pack.Title == "" {
		pack.Title = strings.TrimSuffix(filepath.Base(c.Report), filepath.Ext(c.Report))
	}
	if err := out.write(func(w io.Writer) error { return report.WritePack(w, pack) }); err != nil {
		return err
	}
	return out.told(e, "The pack is in", c.Out)
}

// agreeCmd says whether two benches agree.
type agreeCmd struct {
	First  string `arg:"" help:"A report or pack of one bench." type:"file"`
	Second string `arg:"" help:"A report or pack of another, with methods of the same names." type:"file"`
	Need   string `help:"need.toml: within what they have to agree; else the needs of the first." type:"file"`
	JSON   bool   `name:"json" help:"Print one JSON object."`
}

func (c *agreeCmd) Run(e *env) error {
	both := chooseCmd{Report: []string{c.First, c.Second}}
	trials, err := both.trials(e, nil)
	if err != nil {
		return err
	}
	needs := trials[0].Trial.Needs
	if c.Need != "" {
		source, err := e.source(c.Need)
		if err != nil {
			return err
		}
		if needs, err = intake.Needs(source); err == nil {
			needs, err = knownwater.NeedsOf(needs, trials[0].Trial.Scale)
		}
		if err != nil {
			return nameFile(c.Need, err)
		}
	}
	show := e.progress.stage("comparing")
	done := 0
	all := choose.Agree(trials[0], trials[1], needs, func(t knownwater.Trial) assess.Findings {
		done++
		show(done, 0)
		return assess.Run(t, assess.Options{Brief: true, Stop: func() bool { return e.ctx.Err() != nil }})
	})
	if err := e.ctx.Err(); err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(e.out, report.AgreeJSON(all))
	}
	return report.AgreeText(e.out, all, trials[0].Trial.Scale)
}
