package main

import (
	"slices"
	"time"

	"knownwater"
	"knownwater/logged"
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
	JSON    bool     `name:"json" help:"Print one JSON object." xor:"form"`
	HTML    string   `name:"html" help:"Write it to this file as a page that carries its inputs; recheck takes it." type:"file" xor:"form"`
	replacing
}

func (c *experimentJudgeCmd) Run(e *env) error {
	file := c.output(e, c.HTML, append(c.Record, c.File, c.Methods, c.Need)...)
	if err := file.check(); err != nil {
		return err
	}
	from, err := c.open(e)
	if err != nil {
		return err
	}
	if c.HTML == "" {
		from.Zone = nil
	}
	if from.Said == nil {
		from.Said = map[string]string{}
	}
	if err := (logged.Experiment{Treated: c.Treated, Control: c.Control, From: c.From, Since: c.Since, Until: c.Until, Settle: c.Settle}).Say(from.Said); err != nil {
		return err
	}
	p, err := from.Effect()
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		return writeJSON(e.out, report.EffectJSON(p.Effect))
	case c.HTML == "":
		return report.EffectText(e.out, p.Effect)
	}
	p.Inputs = from.Inputs(time.Now())
	if err := file.write(p.Write); err != nil {
		return err
	}
	return file.told(e, "The experiment is in", file.path)
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
		return logged.Flagged(fs)
	}
	from, err := loggedFiles{Record: []string{c.Record}}.open(e)
	if err != nil {
		return err
	}
	t, seed, err := logged.TrialOf(from.Records[0], 0)
	if err != nil {
		return err
	}
	methods, err := c.methods(t)
	if err != nil {
		return err
	}
	var tried []*assess.Performance
	for _, m := range methods {
		matrix, _ := logged.MostRead(t, m)
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
			faults = append(faults, knownwater.Fault{Column: "--method", Found: "%.40q", Want: "a method of %s"}.Of(name, c.Record))
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
