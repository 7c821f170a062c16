package web

import (
	"fmt"
	"strings"

	"knownwater/bench"
	"knownwater/science/known"
	"knownwater/science/unit"
)

const aNumber = "write a number such as 0.5"

// readItem reads a thing on the shelf from its form.
func readItem(f *form, kind bench.ItemKind) bench.ItemSpec {
	s := bench.ItemSpec{Kind: kind, Name: f.text("name"), Note: f.text("note")}
	switch kind {
	case bench.DeviceItem:
		s.Device = readDevice(f)
	case bench.StockItem:
		s.Stock = readStock(f)
	case bench.WaterItem:
		s.Water = readWater(f)
	}
	return s
}

func readDevice(f *form) *bench.DeviceSpec {
	n := func(name string) float64 { return f.number(name, aNumber) }
	d := &bench.DeviceSpec{Kind: known.DeviceKind(f.text("kind")), Nominal: n("nominal"), Class: f.text("class"), Smallest: n("smallest"),
		Step: n("step"), Tolerance: n("tolerance"), Random: n("random"), Gain: n("gain")}
	var weights []float64
	for i, line := range strings.Fields(strings.ReplaceAll(f.Get("check"), ";", " ")) {
		v, err := parseNumber(line)
		if err != nil {
			f.wrong("check", fmt.Sprintf("weight %d, “%s”, is no number", i+1, line), "one weight in g a line")
		}
		weights = append(weights, v)
	}
	if len(weights) > 0 || f.text("check_setting") != "" {
		d.Check = &bench.OwnCheck{Setting: n("check_setting"), Weights: weights, Temperature: n("check_temperature"), Pressure: n("check_pressure"), UScale: n("check_u_scale")}
	}
	return d
}

func readStock(f *form) *bench.StockSpec {
	n := func(name string) float64 { return f.number(name, aNumber) }
	s := &bench.StockSpec{Scale: f.scale(), Value: n("value"), U: n("u"), Expanded: n("expanded"), K: n("k"), Made: f.text("made"), Expires: f.text("expires"),
		Left: n("left"), Density: n("density"), UDensity: n("u_density"), Loss: n("loss"), ULoss: n("u_loss"), LossFrom: n("loss_from")}
	if salt := f.text("salt"); salt != "" {
		s.Salt = &bench.WeighedSpec{Salt: salt, Mass: n("mass"), Purity: n("purity"), PurityWithin: n("purity_within"), Scale: f.text("scale"), Flask: f.text("flask")}
	}
	return s
}

// mostBackgrounds is how many analytes a water's form can hold.
const mostBackgrounds = 12

func background(what string, i int) string { return fmt.Sprintf("bg_%s_%d", what, i) }

func readWater(f *form) *bench.WaterSpec {
	w := &bench.WaterSpec{Salinity: f.number("salinity", "write a practical salinity such as 35")}
	for i := range mostBackgrounds {
		if f.text(background("value", i)) == "" && f.text(background("u", i)) == "" {
			continue
		}
		scale, err := unit.Parse(f.text(background("analyte", i)), f.text(background("unit", i)), f.text(background("basis", i)))
		if err != nil {
			f.wrong(background("unit", i), err.Error(), "")
		}
		w.Backgrounds = append(w.Backgrounds, bench.BackgroundSpec{Scale: scale, Value: f.number(background("value", i), aNumber),
			U: f.number(background("u", i), aNumber), How: f.text(background("how", i))})
	}
	return w
}

// placeBackgrounds puts the faults of a background beside its own fields: the
// bench counts those that were filled in.
func placeBackgrounds(f *form) {
	var filled []int
	for i := range mostBackgrounds {
		if f.text(background("value", i)) != "" || f.text(background("u", i)) != "" {
			filled = append(filled, i)
		}
	}
	for i := range f.faults {
		x := &f.faults[i]
		if x.Row < 1 || x.Row > len(filled) {
			continue
		}
		what := x.Column
		if what == "background" {
			what = "value"
		}
		x.Column, x.Row = background(what, filled[x.Row-1]), 0
	}
}

// itemForm puts a thing back into its form.
func itemForm(s bench.ItemSpec) *form {
	f := &form{Values: map[string][]string{"name": {s.Name}, "note": {s.Note}}}
	set := func(pairs map[string]float64) {
		for name, v := range pairs {
			f.Set(name, shown(v))
		}
	}
	if d := s.Device; d != nil {
		f.Set("kind", string(d.Kind))
		f.Set("class", d.Class)
		set(map[string]float64{"nominal": d.Nominal, "smallest": d.Smallest, "step": d.Step, "tolerance": d.Tolerance, "random": d.Random, "gain": d.Gain})
		if c := d.Check; c != nil {
			set(map[string]float64{"check_setting": c.Setting, "check_temperature": c.Temperature, "check_pressure": c.Pressure, "check_u_scale": c.UScale})
			var weights []string
			for _, w := range c.Weights {
				weights = append(weights, exactly(w))
			}
			f.Set("check", strings.Join(weights, "\n"))
		}
	}
	if x := s.Stock; x != nil {
		setScale(f, x.Scale)
		f.Set("made", x.Made)
		f.Set("expires", x.Expires)
		set(map[string]float64{"value": x.Value, "u": x.U, "expanded": x.Expanded, "k": x.K, "left": x.Left, "density": x.Density, "u_density": x.UDensity,
			"loss": x.Loss, "u_loss": x.ULoss, "loss_from": x.LossFrom})
		if w := x.Salt; w != nil {
			f.Set("salt", w.Salt)
			f.Set("scale", w.Scale)
			f.Set("flask", w.Flask)
			set(map[string]float64{"mass": w.Mass, "purity": w.Purity, "purity_within": w.PurityWithin})
		}
	}
	if w := s.Water; w != nil {
		f.Set("salinity", exactly(w.Salinity))
		for i, b := range w.Backgrounds {
			for what, text := range map[string]string{"analyte": b.Scale.Analyte, "unit": b.Scale.Unit, "basis": b.Scale.Basis, "value": exactly(b.Value), "u": exactly(b.U), "how": b.How} {
				f.Set(background(what, i), text)
			}
		}
	}
	return f
}

func setScale(f *form, s unit.Scale) {
	f.Set("analyte", s.Analyte)
	f.Set("unit", s.Unit)
	f.Set("basis", s.Basis)
}
