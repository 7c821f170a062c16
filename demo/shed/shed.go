// Package shed furnishes a bench to look at: an invented one in use, with known
// water, a finished and a running trial, a curve and results by it. Nothing of it
// was ever measured.
package shed

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/bench/standards"
	"knownwater/bench/trials"
	"knownwater/demo"
	"knownwater/science/curve"
	"knownwater/science/known"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Title of the finished trial.
const Title = "The Saltmarsh Shed against known water"

var (
	owner   = knownwater.Who{Role: knownwater.Owner, Name: "invented owner", Device: "this computer"}
	nitrate = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
)

// Furnish puts everything on an empty bench. program is the version that does it.
func Furnish(ctx context.Context, b *bench.Bench, program string) error {
	data, err := demo.Trial(1)
	if err != nil {
		return err
	}
	if _, err := b.ImportTrial(ctx, owner, trials.DataSet{Data: data, Title: Title, Source: "invented"}); err != nil {
		return fmt.Errorf("the finished trial: %w", err)
	}
	f := furnishing{Bench: b, ctx: ctx, rng: num.Source(1, 9), program: program}
	for _, step := range []struct {
		what string
		do   func() error
	}{{"the known water", f.knowns}, {"the running trial", f.running}, {"the curve", f.curve}, {"the tank", f.tank}} {
		if err := step.do(); err != nil {
			return fmt.Errorf("%s: %w", step.what, err)
		}
	}
	return nil
}

type furnishing struct {
	*bench.Bench
	ctx     context.Context
	rng     *rand.Rand
	program string
	keys    int
}

// key is as a phone would make it.
func (f *furnishing) key() string {
	f.keys++
	return fmt.Sprintf("invented-%012d", f.keys)
}

// knowns puts vessels, a water and a stock on the shelf, and a set that was made of
// them as planned.
func (f *furnishing) knowns() error {
	var water int64
	for _, spec := range []standards.ItemSpec{
		{Kind: standards.DeviceItem, Name: "flask 250", Device: &standards.DeviceSpec{Kind: known.Flask, Nominal: 250, Class: "A"}},
		{Kind: standards.DeviceItem, Name: "pipette 5", Device: &standards.DeviceSpec{Kind: known.Piston, Nominal: 5, Smallest: 0.5}},
		{Kind: standards.DeviceItem, Name: "scale", Device: &standards.DeviceSpec{Kind: known.Scale, Nominal: 500, Step: 0.01}},
		{Kind: standards.StockItem, Name: "bottle A", Stock: &standards.StockSpec{Scale: nitrate, Value: 1000, Expanded: 6, K: 2, Left: 250}},
		{Kind: standards.WaterItem, Name: "salt mix", Water: &standards.WaterSpec{Salinity: 35,
			Backgrounds: []standards.BackgroundSpec{{Scale: nitrate, Value: 0.1, U: 0.08, How: "standard addition"}}}},
	} {
		item, err := f.SaveItem(f.ctx, owner, 0, spec, "")
		if err != nil {
			return err
		}
		water = item.ID
	}
	limits := standards.DefaultLimits()
	limits.Volume, limits.SalinityCut = 250, 0.05
	set, err := f.NewSet(f.ctx, owner, standards.Wanted{Name: "winter set", Scale: nitrate, Levels: []float64{0, 3, 12, 40}, Temperature: 22, Within: 3,
		Water: water, Limits: limits})
	if err != nil {
		return err
	}
	var made []standards.Made
	for _, x := range set.Spec.Solutions {
		x.Take.Planned, x.Make.Planned = 0, 0 // the bench knows
		made = append(made, standards.Made{Solution: x.Name, Take: x.Take, Make: x.Make, MadeAt: "2026-01-05 09:30", MadeBy: "Ines"})
	}
	_, err = f.WriteDown(f.ctx, owner, set.ID, made, "", "", "")
	return err
}

// running seals a trial of two methods and takes half of its readings.
func (f *furnishing) running() error {
	people, err := f.People(f.ctx)
	if err != nil {
		return err
	}
	all, err := f.Methods(f.ctx)
	if err != nil {
		return err
	}
	p := trials.Plan{Title: "Birch and Cedar once more, with a new lot", Question: "Does the new lot read as the old one did?", Scale: nitrate,
		Water: unit.StandardSea, Sessions: 2, Replicates: 3, Blanks: 6, Duplicates: 1, Seed: 5}
	for _, x := range people[:min(len(people), 2)] {
		p.Readers = append(p.Readers, x.ID)
	}
	for _, m := range all {
		if m.Spec.Name == "Birch" || m.Spec.Name == "Cedar" {
			p.Methods = append(p.Methods, trials.PlanMethod{VersionID: m.VersionID, Together: m.Spec.Name == "Birch"})
		}
	}
	for _, level := range []float64{0.1, 1.6, 3.1, 6.1, 20.1} {
		p.Knowns = append(p.Knowns, trials.Known{Label: fmt.Sprintf("salt mix, %g mg/L", level), Level: level, U: math.Hypot(0.08, 0.004*level), UShared: 0.08,
			Matrix: "salt mix, salinity 35", Blank: level == 0.1})
	}
	made, err := f.NewTrial(f.ctx, owner, p)
	if err != nil {
		return err
	}
	if made, err = f.SealPlan(f.ctx, owner, made.ID); err != nil {
		return err
	}
	prepared, err := f.PrepList(f.ctx, owner, made.ID)
	if err != nil {
		return err
	}
	holds := map[int64]float64{}
	for _, row := range prepared {
		for _, s := range row.Sessions {
			for _, v := range s.Vials {
				holds[v.Vial] = row.Known.Level
			}
		}
	}
	for _, x := range people[:min(len(people), 2)] {
		if err := f.read(made.ID, knownwater.Who{Person: x.ID, Name: x.Name, Role: knownwater.Reader, Device: "invented phone"}, holds); err != nil {
			return err
		}
	}
	return nil
}

// read takes a reader's readings of the first session.
func (f *furnishing) read(trial int64, who knownwater.Who, holds map[int64]float64) error {
	run, err := f.Run(f.ctx, who, trial, 1)
	if err != nil {
		return err
	}
	for _, v := range run.Vials {
		for _, m := range run.Methods {
			if m.VersionID != v.Method {
				continue
			}
			c := holds[v.ID]
			y := 0.4 + c*(1+0.08*f.rng.NormFloat64()) + 0.2*f.rng.NormFloat64()
			text := reading.Show(max(0, y), m.Spec.Method())
			if _, err := f.KeepReading(f.ctx, who, trials.NewReading{Key: f.key(), Vial: v.ID, Text: text}); err != nil {
				return err
			}
		}
	}
	return nil
}

// curve fits a photometer's signals, adopts the curve and reads a tank through it.
func (f *furnishing) curve() error {
	at := func(c float64) float64 { return 0.012 + 0.068*c - 0.0007*c*c }
	s := calibrations.CurveSpec{Name: "shed photometer, 540 nm", Scale: nitrate, Conversion: curve.Conversion{Kind: curve.Absorbance}, Lot: "R7",
		Matrix: "salt mix, salinity 35", Program: f.program,
		Need: &knownwater.Need{Name: "hold 1.5 to 6", Low: 1.5, High: 6, Permitted: []knownwater.Permit{{At: 1.5, Error: 0.8}, {At: 6, Error: 1.2}}}}
	for _, c := range []float64{0, 0.5, 1, 2, 3, 4, 6, 8, 10} {
		for range 3 {
			s.Points = append(s.Points, calibrations.CurvePoint{Level: c, ULevel: math.Round(1e4*(0.01+0.004*c)) / 1e4, Check: c == 3 || c == 8, Dilution: 1,
				Signal: math.Round(1e4*(at(c)+0.0012*f.rng.NormFloat64())) / 1e4})
		}
	}
	made, err := f.SaveCurve(f.ctx, owner, 0, s, "")
	if err != nil {
		return err
	}
	if _, err := f.AdoptCurve(f.ctx, owner, made.VersionID, ""); err != nil {
		return err
	}
	for _, signals := range []string{"0.3012 0.3021", "0.3344 0.3338", "0.3689 0.3702"} {
		if _, err := f.KeepResult(f.ctx, owner, calibrations.NewResult{Key: f.key(), Version: made.VersionID, Water: "north tank", Signals: signals,
			Program: f.program}); err != nil {
			return err
		}
	}
	return nil
}

// tank adopts the record of the card from the finished trial and reads a tank by it,
// week by week, with known water among the samples.
func (f *furnishing) tank() error {
	list, err := f.Trials(f.ctx)
	if err != nil {
		return err
	}
	all, err := f.Methods(f.ctx)
	if err != nil {
		return err
	}
	needs, err := f.Needs(f.ctx)
	if err != nil {
		return err
	}
	var record calibrations.Record
	for _, m := range all {
		if m.Spec.Name == "Birch" {
			if record, err = f.AdoptRecord(f.ctx, owner, calibrations.NewRecord{Trial: list[len(list)-1].ID, Version: m.VersionID, Program: f.program}); err != nil {
				return err
			}
		}
	}
	spec := knownwater.WaterSpec{Name: "north tank", Litres: 300, Note: "invented"}
	for _, n := range needs[:min(len(needs), 1)] {
		spec.Needs = []int64{n.ID}
	}
	water, err := f.SaveWater(f.ctx, owner, 0, spec, "")
	if err != nil {
		return err
	}
	for i, text := range []string{"3..6", "6", "3..6", "6", "6..12", "6"} {
		of := knownwater.Sample{Water: water.ID, Role: knownwater.Routine}
		if _, err := f.KeepResult(f.ctx, owner, calibrations.NewResult{Key: f.key(), Record: record.VersionID, Water: spec.Name, Signals: text, Reader: "Ines",
			TakenAt: time.Now().AddDate(0, 0, 7*(i-6)), Program: f.program, Of: &of}); err != nil {
			return err
		}
	}
	return nil
}
