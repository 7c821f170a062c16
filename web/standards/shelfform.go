package standards

import (
	"fmt"
	"strings"

	"knownwater/bench/standards"
	"knownwater/science/known"
	"knownwater/science/unit"
	"knownwater/web/form"
)

// readItem reads a thing on the shelf from its form.
func readItem(f *form.Form, kind standards.ItemKind) standards.ItemSpec {
	s := standards.ItemSpec{Kind: kind, Name: f.Text("name"), Note: f.Text("note")}
	switch kind {
	case standards.DeviceItem:
		s.Device = readDevice(f)
	case standards.StockItem:
		s.Stock = readStock(f)
	case standards.WaterItem:
		s.Water = readWater(f)
	}
	return s
}

func readDevice(f *form.Form) *standards.DeviceSpec {
	n := func(name string) float64 { return f.Number(name, form.WantNumber) }
	d := &standards.DeviceSpec{Kind: known.DeviceKind(f.Text("kind")), Nominal: n("nominal"), Class: f.Text("class"), Smallest: n("smallest"),
		Step: n("step"), Tolerance: n("tolerance"), Random: n("random"), Gain: n("gain")}
	var weights []float64
	for i, line := range strings.Fields(strings.ReplaceAll(f.Get("check"), ";", " ")) {
		v, err := form.ParseNumber(line)
		if err != nil {
			f.Reject("check", "weight %d, “%s”, is no number", "one weight in g a line", i+1, line)
		}
		weights = append(weights, v)
	}
	if len(weights) > 0 || f.Text("check_setting") != "" {
		d.Check = &standards.OwnCheck{Setting: n("check_setting"), Weights: weights, Temperature: n("check_temperature"), Pressure: n("check_pressure"), UScale: n("check_u_scale")}
	}
	return d
}

func readStock(f *form.Form) *standards.StockSpec {
	n := func(name string) float64 { return f.Number(name, form.WantNumber) }
	s := &standards.StockSpec{Scale: f.Scale(), Value: n("value"), U: n("u"), Expanded: n("expanded"), K: n("k"), Made: f.Text("made"), Expires: f.Text("expires"),
		Left: n("left"), Density: n("density"), UDensity: n("u_density"), Loss: n("loss"), ULoss: n("u_loss"), LossFrom: n("loss_from")}
	if salt := f.Text("salt"); salt != "" {
		s.Salt = &standards.WeighedSpec{Salt: salt, Mass: n("mass"), Purity: n("purity"), PurityWithin: n("purity_within"), Scale: f.Text("scale"), Flask: f.Text("flask")}
	}
	return s
}

// mostBackgrounds is how many analytes a water's form can hold.
const mostBackgrounds = 12

func background(what string, i int) string { return fmt.Sprintf("bg_%s_%d", what, i) }

func readWater(f *form.Form) *standards.WaterSpec {
	w := &standards.WaterSpec{Salinity: f.Number("salinity", "write a practical salinity such as 35")}
	for i := range mostBackgrounds {
		if f.Text(background("value", i)) == "" && f.Text(background("u", i)) == "" {
			continue
		}
		scale, err := unit.Parse(f.Text(background("analyte", i)), f.Text(background("unit", i)), f.Text(background("basis", i)))
		if err != nil {
			f.Reject(background("unit", i), err.Error(), "")
		}
		w.Backgrounds = append(w.Backgrounds, standards.BackgroundSpec{Scale: scale, Value: f.Number(background("value", i), form.WantNumber),
			U: f.Number(background("u", i), form.WantNumber), How: f.Text(background("how", i))})
	}
	return w
}

// placeBackgrounds puts the faults of a background beside its own fields: the
// bench counts those that were filled in.
func placeBackgrounds(f *form.Form) {
	var filled []int
	for i := range mostBackgrounds {
		if f.Text(background("value", i)) != "" || f.Text(background("u", i)) != "" {
			filled = append(filled, i)
		}
	}
	for i := range f.Faults() {
		x := &f.Faults()[i]
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
func itemForm(s standards.ItemSpec) *form.Form {
	f := &form.Form{Values: map[string][]string{"name": {s.Name}, "note": {s.Note}}}
	set := func(pairs map[string]float64) {
		for name, v := range pairs {
			f.Set(name, form.Shown(v))
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
				weights = append(weights, form.Exactly(w))
			}
			f.Set("check", strings.Join(weights, "\n"))
		}
	}
	if x := s.Stock; x != nil {
		f.SetScale(x.Scale)
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
		f.Set("salinity", form.Exactly(w.Salinity))
		for i, b := range w.Backgrounds {
			for what, text := range map[string]string{"analyte": b.Scale.Analyte, "unit": b.Scale.Unit, "basis": b.Scale.Basis, "value": form.Exactly(b.Value), "u": form.Exactly(b.U), "how": b.How} {
				f.Set(background(what, i), text)
			}
		}
	}
	return f
}
