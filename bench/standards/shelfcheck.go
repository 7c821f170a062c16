package standards

import (
	"fmt"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// standIn is the name of things that only fill a shelf for a check; nobody can
// type it, because tidy takes control characters out.
const standIn = "\x00"

// soundShelf is a shelf on which all is well, to check one thing on.
func soundShelf() known.Shelf {
	scale := unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}
	return known.Shelf{
		Scale: scale, Room: known.Room{Temperature: 20, Within: 3}, Matrix: known.Matrix{Salinity: 35, U: 1}, Limits: known.DefaultLimits,
		Devices: []known.Device{{Name: standIn + "device", Kind: known.Scale, Nominal: 500}},
		Stocks:  []known.Stock{{Name: standIn + "stock", Scale: scale, Value: 1000, U: 3, Made: time.Unix(0, 0), Expires: farOff}},
	}
}

var farOff = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// tidied is the description as it is kept, with the faults of its texts.
func (s ItemSpec) tidied() (ItemSpec, knownwater.Faults) {
	var fs knownwater.Faults
	store.Line(&fs, "name", &s.Name, true)
	store.Lines(&fs, "note", &s.Note)
	parse := func(x unit.Scale) unit.Scale {
		if scale, err := unit.Parse(x.Analyte, x.Unit, x.Basis); err == nil {
			return scale
		}
		return x
	}
	only := map[ItemKind]bool{DeviceItem: s.Device != nil, StockItem: s.Stock != nil, WaterItem: s.Water != nil}
	if !only[s.Kind] {
		return s, append(fs, knownwater.Fault{Column: "kind", Found: fmt.Sprintf("%q", s.Kind), Want: "a device, a stock or a water"})
	}
	switch s.Kind {
	case DeviceItem:
		d := *s.Device
		store.Line(&fs, "class", &d.Class, false)
		s.Device, s.Stock, s.Water = &d, nil, nil
	case StockItem:
		x := *s.Stock
		x.Scale = parse(x.Scale)
		store.Day(&fs, "made", &x.Made)
		store.Day(&fs, "expires", &x.Expires)
		if x.Salt != nil {
			w := *x.Salt
			store.Line(&fs, "salt", &w.Salt, false)
			store.Line(&fs, "scale", &w.Scale, false)
			store.Line(&fs, "flask", &w.Flask, false)
			x.Salt = &w
		}
		s.Stock, s.Device, s.Water = &x, nil, nil
	case WaterItem:
		w := *s.Water
		w.Backgrounds = append([]BackgroundSpec(nil), w.Backgrounds...)
		for i := range w.Backgrounds {
			w.Backgrounds[i].Scale = parse(w.Backgrounds[i].Scale)
			store.Line(&fs, "how", &w.Backgrounds[i].How, false)
		}
		s.Water, s.Device, s.Stock = &w, nil, nil
	}
	return s, fs
}

// check finds what cannot be right in a tidied description, Column naming the
// form field, and what is doubtful on the day. devices are those on the shelf,
// for a stock that was weighed with them.
func (s ItemSpec) check(devices []known.Device, today time.Time) (knownwater.Faults, []note.Note) {
	switch s.Kind {
	case DeviceItem:
		shelf := soundShelf()
		shelf.Devices = []known.Device{s.Device.known(s.Name)}
		fs, doubts := shelf.Examine(today)
		return about(fs, fmt.Sprintf("device %q", s.Name), "class"), doubts
	case StockItem:
		return s.checkStock(devices, today)
	}
	return s.checkWater()
}

func (s ItemSpec) checkStock(devices []known.Device, today time.Time) (knownwater.Faults, []note.Note) {
	var fs knownwater.Faults
	x := *s.Stock
	scale, err := unit.Parse(x.Scale.Analyte, x.Scale.Unit, x.Scale.Basis)
	if err != nil {
		return knownwater.Faults{{Column: "unit", Found: err.Error(), Want: "an analyte, a unit and a basis that belong together"}}, nil
	}
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	switch {
	case x.Salt != nil && x.Value != 0:
		wrong("value", "a weighed stock with a value", "either a certified value, or a salt and its mass")
	case x.Salt != nil:
	case x.Expanded != 0 && x.U != 0:
		wrong("u", "both u and the certificate's U", "u (standard uncertainty), or U with its k")
	case x.Expanded != 0 && !(x.Expanded > 0 && x.K >= 1 && x.K <= 5):
		wrong("k", "U = %g with k = %g", "U with the certificate's coverage factor from 1 to 5, mostly 2", x.Expanded, x.K)
	}
	shelf := soundShelf()
	shelf.Scale = scale
	shelf.Devices = append(shelf.Devices, devices...)
	shelf.Stocks = []known.Stock{x.known(s.Name)}
	more, doubts := shelf.Examine(today)
	return append(fs, about(more, fmt.Sprintf("stock %q", s.Name), "unit")...), doubts
}

func (s ItemSpec) checkWater() (fs knownwater.Faults, doubts []note.Note) {
	w := *s.Water
	if err := (unit.Water{Salinity: w.Salinity, Temperature: 20}).Valid(); err != nil {
		fs = append(fs, knownwater.Fault{Column: "salinity", Found: err.Error(), Want: "a practical salinity such as 35; 0 is pure water"})
	}
	seen := map[string]bool{}
	for i, b := range w.Backgrounds {
		place := func(f knownwater.Fault) knownwater.Fault { f.Row = i + 1; return f }
		scale, err := unit.Parse(b.Scale.Analyte, b.Scale.Unit, b.Scale.Basis)
		switch {
		case err != nil:
			fs = append(fs, place(knownwater.Fault{Column: "unit", Found: err.Error(), Want: "an analyte, a unit and a basis that belong together"}))
			continue
		case seen[scale.Analyte]:
			fs = append(fs, place(knownwater.Fault{Column: "analyte", Found: "%s twice", Want: "each analyte once"}.Of(scale.Analyte)))
		}
		seen[scale.Analyte] = true
		shelf := soundShelf()
		shelf.Scale = scale
		shelf.Stocks[0].Scale = scale
		shelf.Matrix = known.Matrix{Name: s.Name, Salinity: 35, Background: b.Value, U: b.U, How: b.How}
		more, say := shelf.Examine(farOff.AddDate(-1, 0, 0))
		for _, f := range about(more, "matrix", "background") {
			fs = append(fs, place(f))
		}
		doubts = append(doubts, say...)
	}
	if len(w.Backgrounds) > 50 {
		fs = append(fs, knownwater.Fault{Column: "analyte", Found: "a very long list", Want: "at most 50 analytes"})
	}
	return fs, doubts
}

// about keeps the faults of one thing and names their form fields: `stock "A" u`
// becomes u; whole is the field where a fault is of the thing itself.
func about(fs knownwater.Faults, place, whole string) (out knownwater.Faults) {
	for _, f := range fs {
		rest, found := strings.CutPrefix(f.Column, place)
		if !found {
			continue
		}
		f.Column = strings.ReplaceAll(strings.TrimSpace(rest), " ", "_")
		if f.Column == "" {
			f.Column = whole
		}
		out = append(out, f)
	}
	return out
}
