package main

import (
	"fmt"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/plan"
	"knownwater/science/reading"
)

// forecastCmd says before a trial what it could decide.
type forecastCmd struct {
	Methods  string    `required:"" help:"methods.toml: the methods that would be tried." type:"file"`
	Need     string    `required:"" help:"need.toml: what single results are needed for." type:"file"`
	Level    []float64 `sep:"none" help:"A known, as a concentration; several make the trial. Left out: levels that suit the needs."`
	Vials    int       `help:"Vials of each known." default:"3"`
	Blanks   int       `help:"Vials of the known 0." default:"6"`
	Readers  int       `help:"People who read; methods that are read by eye are read by all of them." default:"1"`
	Sessions int       `help:"Sittings." default:"1"`
	Runs     int       `help:"Trials to simulate." default:"100"`
	Seed     uint64    `help:"Seed of the simulated trials." default:"1"`
	JSON     bool      `name:"json" help:"Print one JSON object."`
}

func (c *forecastCmd) Run(e *env) error {
	t, err := c.trial(e)
	if err != nil {
		return err
	}
	out := plan.NewForecast(t, c.Runs, c.Seed, judgeBriefly).Run(func() bool { return e.ctx.Err() != nil }, e.progress.stage("simulating"))
	if out.Runs == 0 && e.ctx.Err() != nil {
		return e.ctx.Err()
	}
	if c.JSON {
		return writeJSON(e.out, report.ForecastJSON(out))
	}
	return report.ForecastText(e.out, out, t.Scale)
}

func judgeBriefly(d knownwater.Trial, seed uint64, stop func() bool) assess.Findings {
	return assess.Run(d, assess.Options{Seed: seed, Brief: true, Few: true, Stop: stop})
}

// trial lays the trial out.
func (c *forecastCmd) trial(e *env) (plan.SimTrial, error) {
	if err := c.check(); err != nil {
		return plan.SimTrial{}, err
	}
	methods, needs, err := c.files(e)
	if err != nil {
		return plan.SimTrial{}, err
	}
	t := plan.SimTrial{Scale: methods.Scale, Water: methods.Water, Methods: methods.Methods, Needs: needs}
	d := plan.Design{Readers: c.Readers, Sessions: c.Sessions, Replicates: c.Vials, Blanks: c.Blanks, Check: -1}
	levels := c.Level
	if len(levels) == 0 {
		for _, l := range plan.Levels(t.Methods, needs) {
			levels = append(levels, l.Level)
		}
	}
	for _, l := range levels {
		d.Knowns = append(d.Knowns, plan.DesignKnown{Level: l, Blank: l == 0})
		t.Knowns = append(t.Knowns, plan.SimKnown{Level: l})
	}
	for _, m := range t.Methods {
		d.Methods = append(d.Methods, plan.DesignMethod{Techniques: []string{""}, Together: reading.Of(m.Kind).ByEye, DilutionOver: m.DilutionOver, Dilution: m.DilutionFactor})
		t.Guesses = append(t.Guesses, plan.Guess{}.Fill(m))
	}
	t.Vials, err = plan.Lay(d, c.Seed)
	return t, err
}

// check finds what the flags cannot mean.
func (c *forecastCmd) check() error {
	var faults knownwater.Faults
	for _, f := range []struct {
		name      string
		n, lo, hi int
	}{{"--vials", c.Vials, 1, 99}, {"--blanks", c.Blanks, 0, 99}, {"--readers", c.Readers, 1, 99}, {"--sessions", c.Sessions, 1, 99}, {"--runs", c.Runs, 1, 100000}} {
		if f.n < f.lo || f.n > f.hi {
			faults = append(faults, knownwater.Fault{Column: f.name, Found: "%v", Want: "a number from %d to %d"}.Of(f.n, f.lo, f.hi))
		}
	}
	seen := map[float64]bool{}
	for _, l := range c.Level {
		if !(l >= 0 && l <= 1e6) || seen[l] {
			faults = append(faults, knownwater.Fault{Column: "--level", Found: fmt.Sprint(l), Want: "concentrations from 0 up, each once"})
		}
		seen[l] = true
	}
	if len(faults) > 0 {
		return faults
	}
	return nil
}

func (c *forecastCmd) files(e *env) (m intake.MethodsFile, needs []knownwater.Need, err error) {
	source, err := e.source(c.Methods)
	if err == nil {
		m, err = intake.Methods(source)
	}
	if err != nil {
		return m, nil, err
	}
	if source, err = e.source(c.Need); err == nil {
		needs, err = intake.Needs(source)
	}
	if err == nil {
		needs, err = knownwater.NeedsOf(needs, m.Scale)
	}
	return m, needs, err
}
