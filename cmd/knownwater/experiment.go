package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/history"
)

// experimentCmd is something done to some waters and not to others.
type experimentCmd struct {
	Judge experimentJudgeCmd `cmd:"" help:"Say from a log what was done to treated waters, beside what control waters did."`
	Plan  experimentPlanCmd  `cmd:"" help:"Say before an experiment which effect it would show, and what would show less."`
}

type experimentJudgeCmd struct {
	loggedFiles
	Treated []string `required:"" sep:"none" help:"A water to which it was done; several are given one by one."`
	Control []string `required:"" sep:"none" help:"A water to which it was not done; several are given one by one."`
	From    string   `required:"" help:"The day on which it was done: results from it on are after."`
	Settle  int      `help:"Days from then on whose results are left out, while it takes hold."`
	Since   string   `help:"The first day that counts."`
	Until   string   `help:"The last day that counts."`
	JSON    bool     `name:"json" help:"Print one JSON object."`
}

func (c *experimentJudgeCmd) Run(e *env) error {
	x, err := c.experiment()
	if err != nil {
		return err
	}
	from, err := c.open(e)
	if err != nil {
		return err
	}
	from.zone = nil
	p, parts, err := from.parts(e)
	if err != nil {
		return err
	}
	if len(parts) > 1 {
		return knownwater.Fault{Column: "--analyte", Found: "a log of several analytes: " + strings.Join(analytesOf(parts), ", "), Want: "which of them the experiment is judged by"}
	}
	out, err := history.EffectOf(parts[0].Entries, parts[0].Methods, x)
	if err != nil {
		return flagged(inLog(from.log.Name, err))
	}
	out.Notes = slices.Concat(p.Notes, out.Notes)
	if c.JSON {
		return writeJSON(e.out, report.EffectJSON(out))
	}
	return report.EffectText(e.out, out)
}

// analytesOf names what a log is of.
func analytesOf(parts []history.Part) (names []string) {
	for _, p := range parts {
		if p.Scale.Analyte != "" {
			names = append(names, p.Scale.Analyte)
		}
	}
	return names
}

// experiment reads the days.
func (c *experimentJudgeCmd) experiment() (x history.Experiment, err error) {
	x = history.Experiment{Treated: c.Treated, Control: c.Control, Settle: c.Settle}
	var faults knownwater.Faults
	for _, d := range []struct {
		flag, text string
		to         *time.Time
	}{{"--from", c.From, &x.From}, {"--since", c.Since, &x.Since}, {"--until", c.Until, &x.Until}} {
		if d.text == "" && d.flag != "--from" {
			continue
		}
		day, err := time.ParseInLocation(time.DateOnly, d.text, time.Local)
		if err != nil {
			faults = append(faults, knownwater.Fault{Column: d.flag, Found: fmt.Sprintf("%.20q", d.text), Want: "a day such as 2026-03-23"})
		}
		*d.to = day
	}
	if faults != nil {
		return x, faults
	}
	return x, nil
}

// flagged are faults of an experiment with the flags to blame for them; those of rows stay as they are.
func flagged(err error) error {
	fs, ok := err.(knownwater.Faults)
	if !ok {
		return err
	}
	out := slices.Clone(fs)
	for i, f := range out {
		if f.Row == 0 {
			out[i].File, out[i].Column = "", "--"+f.Column
		}
	}
	return out
}

type experimentPlanCmd struct {
	Record      string   `required:"" help:"A trial's report.html: its methods are compared." type:"file"`
	Method      []string `sep:"none" help:"Only this method; several are given one by one."`
	Level       float64  `required:"" help:"About where the waters are."`
	Wander      float64  `required:"" help:"How far such waters go from their level and come back, as a standard deviation; experiment judge prints it."`
	Treated     int      `help:"Waters to which it will be done." default:"1"`
	Control     int      `help:"Waters to which it will not be done." default:"1"`
	WeeksBefore int      `help:"Weeks of testing before." default:"6"`
	WeeksAfter  int      `help:"Weeks of testing after." default:"6"`
	TestsAWeek  float64  `help:"Tests of each water a week." default:"1"`
	JSON        bool     `name:"json" help:"Print one JSON object."`
}

func (c *experimentPlanCmd) Run(e *env) error {
	x := history.ExperimentPlan{Treated: c.Treated, Control: c.Control, WeeksBefore: c.WeeksBefore, WeeksAfter: c.WeeksAfter, TestsAWeek: c.TestsAWeek, Level: c.Level, Wander: c.Wander}
	if fs := x.Check(); fs != nil {
		return flagged(fs)
	}
	from, err := loggedFiles{Record: []string{c.Record}}.open(e)
	if err != nil {
		return err
	}
	t, seed, err := trialOf(from.records[0], 0)
	if err != nil {
		return err
	}
	methods, err := c.methods(t)
	if err != nil {
		return err
	}
	var tried []*assess.Performance
	for _, m := range methods {
		matrix, _ := mostRead(t, m)
		if p, err := assess.PerformanceOf(t, m, matrix, assess.Options{Seed: seed, Version: version}); err == nil {
			tried = append(tried, p)
		}
		if err := e.ctx.Err(); err != nil {
			return err
		}
	}
	by := x.By(tried)
	if c.JSON {
		return writeJSON(e.out, report.PlannedJSON(x, by))
	}
	return report.PlannedText(e.out, x, by, t.Scale)
}

// methods are those that were named, else all of the trial.
func (c *experimentPlanCmd) methods(t knownwater.Trial) (names []string, err error) {
	for _, m := range t.Methods {
		names = append(names, m.Name)
	}
	var faults knownwater.Faults
	for _, name := range c.Method {
		if !slices.Contains(names, name) {
			faults = append(faults, knownwater.Fault{Column: "--method", Found: fmt.Sprintf("%.40q", name), Want: "a method of " + c.Record})
		}
	}
	if faults != nil {
		return nil, faults
	}
	if len(c.Method) > 0 {
		names = c.Method
	}
	return names, nil
}
