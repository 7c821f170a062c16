package waters

import (
	"context"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/report"
	"knownwater/science/history"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// experimentPage judges an experiment on waters, and plans one. Nothing is kept: its address says what is asked.
type experimentPage struct {
	Waters []knownwater.Water
	Form   *form.Form

	Analytes []analyteLink // where results are of several: the experiment is judged by one
	Of       string
	File     string // the address of it as a page to keep; empty: nothing was judged
	Says     string // what came of it; empty: it was not asked for
	More     string
	Bars     []report.EffectBar
	Axis     template.HTML
	Unit     string
	Wander   string
	Notes    []string

	Plan     *form.Form
	Planned  string
	Rows     []plannedRow
	PlanUnit string
	PlanNote string
	NoRecord bool
}

type plannedRow struct {
	Method, Scatter string
	Cells           [4]string
}

func (s *Pages) experiment(w http.ResponseWriter, r *http.Request) {
	p, err := s.experimentOf(r.Context(), s.ReaderOn(r, "experiment"), r.URL.Query())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "experiment", page.Frame{Heading: "An experiment on waters", Part: "waters", Page: p})
}

func (s *Pages) experimentOf(ctx context.Context, as render.Reader, q url.Values) (p experimentPage, err error) {
	all, err := s.Bench.Waters(ctx)
	if err != nil {
		return p, err
	}
	for _, x := range all {
		if !x.Retired {
			p.Waters = append(p.Waters, x)
		}
	}
	p.Form, p.Plan = form.New(), form.New()
	p.Plan.Values = url.Values{"plan_treated": {"2"}, "plan_control": {"2"}, "weeks_before": {"6"}, "weeks_after": {"6"}, "tests_a_week": {"1"}}
	if q.Has("from") {
		p.Form.Values = q
		if err := s.judgeExperiment(ctx, as, &p); err != nil {
			return p, err
		}
	}
	if q.Has("level") {
		p.Plan.Values = q
		return p, s.planExperiment(ctx, &p)
	}
	return p, nil
}

// judgeExperiment reads the form and judges what it asks for.
func (s *Pages) judgeExperiment(ctx context.Context, as render.Reader, p *experimentPage) error {
	f := p.Form
	var chosen []knownwater.Water
	side := func(field string) (names []string) {
		for _, x := range p.Waters {
			if f.Has(field, render.ID(x.ID)) {
				names = append(names, x.Spec.Name)
				if !slices.ContainsFunc(chosen, func(c knownwater.Water) bool { return c.ID == x.ID }) {
					chosen = append(chosen, x)
				}
			}
		}
		return names
	}
	x := history.Experiment{Treated: side("treated"), Control: side("control"), Settle: f.Whole("settle", 366)}
	for _, d := range []struct {
		field string
		to    *time.Time
	}{{"from", &x.From}, {"since", &x.Since}, {"until", &x.Until}} {
		if f.Text(d.field) == "" {
			continue
		}
		day, err := time.ParseInLocation(time.DateOnly, f.Text(d.field), time.Local)
		if err != nil {
			f.Reject(d.field, f.Text(d.field), "a day such as 2026-03-23")
		}
		*d.to = day
	}
	var names []string
	for _, w := range chosen {
		names = append(names, w.Spec.Name)
	}
	f.AddNewFaults(x.Check(names))
	if f.Bad() {
		return nil
	}
	log, err := s.Bench.LogOfWaters(ctx, scaleIn(f.Values), chosen...)
	if err != nil {
		return err
	}
	p.Analytes, p.Of = analyteLinks("/waters/experiment", f.Values, log)
	e, err := history.EffectOf(log.Entries, log.Methods, x)
	if fs := form.FaultsOf(err); fs != nil { // a water without a result by a record
		p.Says, p.More = report.EffectSays(as.Language, history.Effect{Experiment: x, Value: math.NaN()})
		for _, fault := range fs {
			p.Notes = append(p.Notes, form.Sentence(as.Language, fault))
		}
		return nil
	} else if err != nil {
		return err
	}
	if paged(log) {
		p.File = "/waters/experiment.html?" + f.Values.Encode()
	}
	p.show(as, report.TurnedEffect(e, as.Units.Turn))
	return nil
}

// show puts a judged experiment into words and bars.
func (p *experimentPage) show(as render.Reader, e history.Effect) {
	p.Says, p.More = report.EffectSays(as.Language, e)
	p.Notes, p.Unit = report.SayAllIn(as.Language, e.Notes), e.Scale.String()
	if !math.IsNaN(e.Wander) {
		p.Wander = report.WanderSays(as.Language, e)
	}
	p.Bars, p.Axis = report.EffectBars(as.Language, e)
}

// planExperiment says what an experiment would show by the methods of this bench.
func (s *Pages) planExperiment(ctx context.Context, p *experimentPage) error {
	f := p.Plan
	x := history.ExperimentPlan{Treated: f.Whole("plan_treated", 12), Control: f.Whole("plan_control", 12), WeeksBefore: f.Whole("weeks_before", 52), WeeksAfter: f.Whole("weeks_after", 52),
		TestsAWeek: f.Number("tests_a_week", form.WantNumber), Level: f.Number("level", form.WantNumber), Wander: f.Number("wander", form.WantNumber)}
	faults := x.Check()
	for i, fault := range faults {
		switch faults[i].Column = strings.ReplaceAll(fault.Column, "-", "_"); fault.Column {
		case "treated", "control":
			faults[i].Column = "plan_" + fault.Column
		}
	}
	f.AddNewFaults(faults)
	if f.Bad() {
		return nil
	}
	methods, err := s.Bench.MethodsInUse(ctx)
	if err != nil {
		return err
	}
	if p.NoRecord = len(methods) == 0; p.NoRecord {
		return nil
	}
	p.Planned, p.PlanUnit, p.PlanNote = report.PlannedHead(x), methods[0].Scale.String(), report.PlannedNote(x)
	for _, b := range x.By(methods) {
		row := plannedRow{}
		row.Method, row.Scatter, row.Cells = report.PlannedRow(b)
		p.Rows = append(p.Rows, row)
	}
	return nil
}
