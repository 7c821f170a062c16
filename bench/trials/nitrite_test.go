package trials_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"knownwater/bench/trials"
	"knownwater/internal/benchtest"
	"knownwater/science/unit"
)

// TestPlanWithNitrite: knowns that hold nitrite are planned, sealed, read blind and tell the factor; they judge no
// level, make no blank and are no points of a curve.
func TestPlanWithNitrite(t *testing.T) {
	s := benchtest.New(t)
	p := trials.Plan{Title: "Nitrite", Scale: benchtest.Nitrate, Water: benchtest.Seaward, Seed: 5, Sessions: 1, Replicates: 3, Blanks: 6,
		Methods: []trials.PlanMethod{{VersionID: s.Meter.VersionID}}, Readers: []int64{s.Ines.Person}}
	for i, level := range []float64{0, 2, 5, 10} {
		p.Knowns = append(p.Knowns, trials.Known{Label: fmt.Sprint("level ", i), Level: level, U: 0.01 * level, Blank: level == 0})
	}
	with := trials.Known{Label: "blank and nitrite", Level: 0, U: 0.01, Nitrite: 0.5, UNitrite: 0.01}
	for name, c := range map[string]struct {
		change func(*trials.Plan)
		says   string
	}{
		"of phosphate":  {func(p *trials.Plan) { p.Scale = unit.Scale{Analyte: "phosphate", Unit: "mg/L", Basis: "PO4"} }, "knowns of nitrate: nitrite reads as nitrate"},
		"below zero":    {func(p *trials.Plan) { p.Knowns[4].Nitrite = -1 }, "nitrite -1"},
		"no number":     {func(p *trials.Plan) { p.Knowns[4].UNitrite = 1e9 }, "nitrite 0.5 ± 1e+09"},
		"nothing else":  {func(p *trials.Plan) { p.Knowns = p.Knowns[4:] }, "they turn the others round"},
		"the check":     {func(p *trials.Plan) { p.Check = with.Label }, "a check standard that holds nitrite"},
		"doubt of none": {func(p *trials.Plan) { p.Knowns[3].UNitrite = 0.1 }, "nitrite 0 ± 0.1"},
		"nothing wrong": {func(*trials.Plan) {}, ""},
	} {
		bad := p
		bad.Knowns = append(append([]trials.Known{}, p.Knowns...), with)
		c.change(&bad)
		faults, _, err := s.ExaminePlan(ctx, bad)
		if err != nil || (c.says == "") != (len(faults) == 0) || !strings.Contains(fmt.Sprint(faults), c.says) {
			t.Errorf("%s: %v, %v", name, faults, err)
		}
	}

	p.Knowns = append(p.Knowns, with)
	forecast := benchtest.Must(s.Forecast(ctx, p, 4))(t)
	if n := forecast.Methods[0].Readings; n != 15 {
		t.Errorf("the outlook counts %d readings that judge levels, want 15", n)
	}
	r := s.Sealed(p)
	holds := map[int64][2]float64{}
	rows, err := benchtest.SQL(t, s.Path).Query("select v.id, k.level, k.nitrite from vial v join known k on k.id = v.known_id where v.trial_id = ?", r.ID)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var vial int64
		var h [2]float64
		if err := rows.Scan(&vial, &h[0], &h[1]); err != nil {
			t.Fatal(err)
		}
		holds[vial] = h
	}
	for n, v := range benchtest.Must(s.Run(ctx, s.Ines, r.ID, 1))(t).Vials {
		off := []float64{0.1, -0.1, 0, 0.1, -0.1}[n%5]
		benchtest.Must(s.KeepReading(ctx, s.Ines, trials.NewReading{Key: benchtest.NewKey(), Vial: v.ID, Text: fmt.Sprintf("%.1f", max(0, holds[v.ID][0]+6*holds[v.ID][1]+off))}))(t)
	}
	benchtest.Must(s.OpenKey(ctx, benchtest.Owner, r.ID, ""))(t)
	benchtest.Must(s.Finish(ctx, benchtest.Owner, r.ID))(t)
	f := benchtest.Must(s.Findings(ctx, benchtest.Owner, r.ID, trials.FindingsOptions{}))(t)
	if n := f.Findings.Nitrite; len(n) != 1 || n[0].N != 3 || math.Abs(float64(n[0].Factor)-6) > 0.6 {
		t.Errorf("found %+v", n)
	}
	if m := f.Findings.Methods[0]; m.N != 15 || m.Levels[0].N != 6 || float64(m.Levels[0].Mean) > 0.3 {
		t.Errorf("%d readings judge levels, %d of them blanks of %v", m.N, m.Levels[0].N, m.Levels[0].Mean)
	}
	seal := benchtest.Must(s.Seal(ctx, benchtest.Owner, r.ID))(t)
	if fs := seal.Verify(f.Data); len(fs) > 0 || !strings.Contains(seal.Key, `"nitrite":0.5`) {
		t.Errorf("the seal: %v", fs)
	}
	if c, _, err := s.CurveFromTrial(ctx, benchtest.Owner, r.ID, s.Meter.VersionID); err != nil || len(c.Points) != 15 {
		t.Errorf("%d points of a curve, %v", len(c.Points), err)
	}
}
