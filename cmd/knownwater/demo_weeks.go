package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/demo"
)

// fillWeeks gives the demo's bench what follows its trial: the records adopted that its log
// was read by, three tanks, lots, and forty weeks of results and checks up to now.
func fillWeeks(ctx context.Context, b *bench.Bench, trial int64, seed uint64, now time.Time) error {
	y, m, d := now.Date()
	start := time.Date(y, m, d, 0, 0, 0, 0, now.Location()).AddDate(0, 0, -7*39-1)
	log := demo.Routine(seed, demo.RoutineChoices{Start: start})
	t, err := b.Trial(ctx, commandLine, trial)
	if err != nil {
		return err
	}
	records := map[string]calibrations.Record{}
	methods := map[string]int64{}
	for _, m := range t.Plan.Methods {
		v, err := b.MethodVersion(ctx, m.VersionID)
		if err != nil {
			return err
		}
		if v.Spec.Name != "Alder" && v.Spec.Name != "Birch" && v.Spec.Name != "Dogwood" {
			continue
		}
		r, err := b.AdoptRecord(ctx, commandLine, calibrations.NewRecord{Trial: trial, Version: m.VersionID, Program: version})
		if err != nil {
			return fmt.Errorf("adopting the record of %s: %w", v.Spec.Name, err)
		}
		records[v.Spec.Name], methods[v.Spec.Name] = r, v.ID
	}
	opened := map[string]bool{}
	waters, err := demoWaters(ctx, b)
	if err != nil {
		return err
	}
	for _, e := range log {
		r, there := records[e.Method]
		if !there || e.Pair != "" {
			continue
		}
		if !opened[e.Method+e.Lot] {
			opened[e.Method+e.Lot] = true
			if _, err := b.SaveLot(ctx, commandLine, knownwater.Lot{MethodID: methods[e.Method], Code: e.Lot, OpenedOn: e.At.Format(time.DateOnly), ExpiresOn: e.At.AddDate(1, 6, 0).Format(time.DateOnly), Tests: 50}); err != nil {
				return err
			}
		}
		of := knownwater.Sample{Water: waters[e.Water], Role: knownwater.Routine}
		if e.Check {
			of = knownwater.Sample{Role: knownwater.Checked, Known: e.Known, UKnown: e.UKnown}
		}
		name := e.Water
		if e.Check {
			name = fmt.Sprintf("known %g", e.Known)
		}
		if _, err := b.KeepResult(ctx, commandLine, calibrations.NewResult{Key: rand.Text(), Record: r.VersionID, Water: name, Signals: e.Reading, Reader: e.Reader, Lot: e.Lot,
			Dilution: e.Dilution, TakenAt: e.At, Program: version, Of: &of}); err != nil {
			return fmt.Errorf("keeping the demo's log: %w", err)
		}
	}
	return nil
}

// demoWaters are the three tanks, each with the need that is to be held.
func demoWaters(ctx context.Context, b *bench.Bench) (map[string]int64, error) {
	needs, err := b.Needs(ctx)
	if err != nil {
		return nil, err
	}
	out := map[string]int64{}
	for _, w := range []struct {
		name, note string
		litres     float64
		need       int
	}{{"Marram", "Nothing ever changes here.", 300, 2}, {"Kelpie", "Feeding was doubled in week 12.", 180, 0}, {"Samphire", "Nitrate was dosed from week 20 to 28.", 120, 0}} {
		spec := knownwater.WaterSpec{Name: w.name, Kind: knownwater.Tank, Litres: w.litres, Note: w.note}
		if w.need >= 0 && w.need < len(needs) {
			spec.Needs = []int64{needs[w.need].ID}
		}
		x, err := b.SaveWater(ctx, commandLine, 0, spec, "")
		if err != nil {
			return nil, err
		}
		out[w.name] = x.ID
	}
	return out, nil
}
