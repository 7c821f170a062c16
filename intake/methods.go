package intake

import (
	"fmt"
	"io"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// MethodsFile is methods.toml. Scale holds what it says, as it says it: parts
// it is silent about are empty.
type MethodsFile struct {
	Scale       unit.Scale
	Water       unit.Water
	WaterStated bool                // salinity and temperature are both in the file
	Methods     []knownwater.Method // each on its own scale
	Answers     []knownwater.Answer // to questions about the readings
	InOrder     []string            // methods whose knowns were read in the order of their levels
}

// methodsTOML and methodTOML are the keys of methods.toml, in the order in
// which they are written.
type methodsTOML struct {
	Analyte     string       `toml:"analyte,omitempty"`
	Unit        string       `toml:"unit,omitempty"`
	Basis       string       `toml:"basis,omitempty"`
	Salinity    *float64     `toml:"salinity,omitempty" comment:"practical salinity, for mg/L against mg/kg"`
	Temperature *float64     `toml:"temperature_c,omitempty"`
	InOrder     []string     `toml:"read_in_order,omitempty" comment:"methods whose knowns were read in the order of their levels"`
	Answer      []answerTOML `toml:"answer,omitempty" comment:"to questions about the readings, which stay as they are"`
	Method      []methodTOML `toml:"method"`
}

// answerTOML is an answer to a question by its key, as the findings print it.
type answerTOML struct {
	Question string `toml:"question"`
	Answer   string `toml:"answer"`
	Choice   int    `toml:"choice,omitempty"`
	Why      string `toml:"why,omitempty"`
}

// answer reads an answer.
func (a answerTOML) answer() (knownwater.Answer, knownwater.Faults) {
	out := knownwater.Answer{Question: strings.TrimSpace(a.Question), Yes: a.Answer == "yes", Choice: a.Choice, Why: strings.TrimSpace(a.Why)}
	var fs knownwater.Faults
	if out.Question == "" {
		fs = append(fs, knownwater.Fault{Column: "question", Found: "no question", Want: "the key of a question, as assess --json prints it"})
	}
	if a.Answer != "yes" && a.Answer != "no" {
		fs = append(fs, knownwater.Fault{Column: "answer", Found: reading.Quote(a.Answer), Want: "yes or no"})
	}
	if a.Choice < 0 {
		fs = append(fs, knownwater.Fault{Column: "choice", Found: fmt.Sprint(a.Choice), Want: "0 for the first way that a yes may mean, 1 for the second"})
	}
	return out, fs
}

type methodTOML struct {
	Name           string    `toml:"name"`
	Kind           string    `toml:"kind"`
	Unit           string    `toml:"unit,omitempty"`
	Basis          string    `toml:"basis,omitempty"`
	Swatches       []float64 `toml:"swatches,omitempty"`
	AtShare        *float64  `toml:"at_share,omitempty"`
	Resolution     *float64  `toml:"resolution,omitempty"`
	DropValue      float64   `toml:"drop_value,omitempty"`
	Range          []float64 `toml:"range,omitempty"`
	DilutionOver   float64   `toml:"dilution_over,omitempty"`
	DilutionFactor float64   `toml:"dilution_factor,omitempty"`
	PackPrice      float64   `toml:"pack_price,omitempty"`
	PackTests      int       `toml:"pack_tests,omitempty"`
	RefillPrice    float64   `toml:"refill_price,omitempty"`
	RefillTests    int       `toml:"refill_tests,omitempty"`
	Minutes        float64   `toml:"minutes,omitempty"`
	HandsOnMinutes float64   `toml:"hands_on_minutes,omitempty"`
	ShelfMonths    float64   `toml:"shelf_life_months,omitempty"`
	RefillMonths   float64   `toml:"refill_shelf_life_months,omitempty"`
	DevicePrice    float64   `toml:"device_price,omitempty"`
	DeviceYears    float64   `toml:"device_years,omitempty"`
	WasteML        float64   `toml:"waste_ml,omitempty"`
	Hazards        []string  `toml:"hazards,omitempty"`
}

// Methods reads methods.toml by itself. The error holds knownwater.Faults.
func Methods(src Source) (MethodsFile, error) {
	f, faults := readMethods(src)
	if len(faults) > 0 {
		return MethodsFile{}, faults
	}
	return f, nil
}

func readMethods(src Source) (MethodsFile, knownwater.Faults) {
	var in methodsTOML
	at, faults := src.decode(&in, trialsPage)
	if faults != nil {
		return MethodsFile{}, faults
	}
	out := MethodsFile{Water: unit.StandardSea,
		Scale: unit.Scale{Analyte: strings.TrimSpace(in.Analyte), Unit: strings.TrimSpace(in.Unit), Basis: strings.TrimSpace(in.Basis)}}
	faults = append(faults, checkScale(src, at, out.Scale)...)
	if in.Salinity != nil {
		out.Water.Salinity = *in.Salinity
	}
	if in.Temperature != nil {
		out.Water.Temperature = *in.Temperature
	}
	out.WaterStated = in.Salinity != nil && in.Temperature != nil
	if err := out.Water.Valid(); err != nil {
		key, _, _ := strings.Cut(err.Error(), " ")
		key = map[string]string{"salinity": "salinity", "temperature": "temperature_c"}[key]
		found, want, _ := strings.Cut(err.Error(), ": ")
		faults = append(faults, src.fault(at[key], key, found, want))
	}
	if len(in.Method) == 0 {
		faults = append(faults, src.fault(0, "method", "no method", "a [[method]] for each method in the readings"))
	}
	for i, a := range in.Answer {
		answer, fs := a.answer()
		for _, f := range fs {
			faults = append(faults, src.at(at.row(fmt.Sprintf("answer.%d", i), f.Column), f.Column, f))
		}
		out.Answers = append(out.Answers, answer)
	}
	names := map[string]bool{}
	for i, m := range in.Method {
		table := fmt.Sprintf("method.%d", i)
		method, fs := m.method()
		fs = append(fs, checkOwn(out.Scale, method.Own)...)
		if names[method.Name] && method.Name != "" {
			fs = append(fs, knownwater.Fault{Column: "name", Found: "a second method %s", Want: "each name once"}.Of(reading.Quote(method.Name)))
		}
		names[method.Name] = true
		for _, f := range fs {
			faults = append(faults, src.at(at.row(table, f.Column), f.Column, f))
		}
		out.Methods = append(out.Methods, method)
	}
	for _, name := range in.InOrder {
		if !names[name] {
			faults = append(faults, src.fault(at["read_in_order"], "read_in_order", "%s", "a method of this file", reading.Quote(name)))
		}
	}
	out.InOrder = in.InOrder
	return out, faults
}

// checkScale looks at a scale as far as it is stated.
func checkScale(src Source, at positions, s unit.Scale) knownwater.Faults {
	if s.Unit == "" || s.Analyte != "" && unit.Bases(s.Analyte) == nil {
		return nil // settled with the rows
	}
	one := map[spelled]int{{s.Unit, s.Basis}: 1}
	sc := settleScales(s, one, nil, unit.StandardSea)
	for _, f := range sc.faults {
		key := "unit"
		if strings.HasPrefix(f.Found, "basis") {
			key = "basis"
		}
		return knownwater.Faults{src.at(at[key], key, f)}
	}
	return nil
}

// checkOwn looks at a method's own unit as far as the file alone can tell.
func checkOwn(file, own unit.Scale) knownwater.Faults {
	u := or(own.Unit, file.Unit)
	if own == (unit.Scale{}) || u == "" || unit.Bases(file.Analyte) == nil {
		return nil // settled with the rows
	}
	_, err := parse(file.Analyte, spelled{u, or(own.Basis, file.Basis)})
	if own.Unit != "" && own.Basis != "" { // its own two must not contradict each other
		_, err = unit.Parse(file.Analyte, own.Unit, own.Basis)
	}
	if err != nil {
		found, want, _ := strings.Cut(err.Error(), ": ")
		key := "unit"
		if own.Unit == "" || strings.HasPrefix(found, "basis") {
			key = "basis"
		}
		return knownwater.Faults{{Column: key, Found: found, Want: want}}
	}
	return nil
}

func (m methodTOML) method() (knownwater.Method, knownwater.Faults) {
	out := knownwater.Method{
		Own:  unit.Scale{Unit: strings.TrimSpace(m.Unit), Basis: strings.TrimSpace(m.Basis)},
		Name: strings.TrimSpace(m.Name), Kind: knownwater.Kind(m.Kind), Swatches: m.Swatches, DropValue: m.DropValue,
		DilutionOver: m.DilutionOver, DilutionFactor: m.DilutionFactor,
		PackPrice: m.PackPrice, PackTests: m.PackTests, RefillPrice: m.RefillPrice, RefillTests: m.RefillTests,
		Minutes: m.Minutes, HandsOnMinutes: m.HandsOnMinutes,
		ShelfMonths: m.ShelfMonths, RefillMonths: m.RefillMonths, DevicePrice: m.DevicePrice, DeviceYears: m.DeviceYears, WasteML: m.WasteML, Hazards: m.Hazards,
	}
	var fs knownwater.Faults
	// An absent key and a 0 are different things to the person who wrote the 0.
	if m.AtShare != nil {
		if out.AtShare = *m.AtShare; out.AtShare == 0 {
			fs = append(fs, knownwater.Fault{Column: "at_share", Found: "0", Want: "a share above 0 and at most 0.5"})
		}
	} else if reading.Of(out.Kind).Has("at_share") {
		out.AtShare = knownwater.DefaultAtShare
	}
	if m.Resolution != nil {
		if out.Resolution = *m.Resolution; out.Resolution == 0 {
			fs = append(fs, knownwater.Fault{Column: "resolution", Found: "0", Want: "one step of the last digit, above 0"})
		}
	}
	switch len(m.Range) {
	case 0:
	case 2:
		out.Range = &interval.Interval{Low: m.Range[0], High: m.Range[1]}
	default:
		fs = append(fs, knownwater.Fault{Column: "range", Found: "%d numbers", Want: "the lower end, then the upper end"}.Of(len(m.Range)))
	}
	return out, append(fs, reading.Faults(out)...)
}

// WriteMethods writes a methods.toml that Methods reads back as it was.
func WriteMethods(w io.Writer, f MethodsFile) error {
	out := methodsTOML{Analyte: f.Scale.Analyte, Unit: f.Scale.Unit, Basis: f.Scale.Basis, InOrder: f.InOrder}
	none := f.Water == unit.Water{}
	if f.WaterStated || !none && f.Water.Salinity != unit.StandardSea.Salinity { // else Methods takes that
		out.Salinity = &f.Water.Salinity
	}
	if f.WaterStated || !none && f.Water.Temperature != unit.StandardSea.Temperature {
		out.Temperature = &f.Water.Temperature
	}
	for _, a := range f.Answers {
		out.Answer = append(out.Answer, answerTOML{a.Question, map[bool]string{true: "yes", false: "no"}[a.Yes], a.Choice, a.Why})
	}
	for _, m := range f.Methods {
		m = reading.Own(m)
		t := methodTOML{Name: m.Name, Kind: string(m.Kind), Swatches: m.Swatches, DropValue: m.DropValue,
			DilutionOver: m.DilutionOver, DilutionFactor: m.DilutionFactor,
			PackPrice: m.PackPrice, PackTests: m.PackTests, RefillPrice: m.RefillPrice, RefillTests: m.RefillTests,
			Minutes: m.Minutes, HandsOnMinutes: m.HandsOnMinutes,
			ShelfMonths: m.ShelfMonths, RefillMonths: m.RefillMonths, DevicePrice: m.DevicePrice, DeviceYears: m.DeviceYears, WasteML: m.WasteML, Hazards: m.Hazards}
		t.Unit, t.Basis = m.Own.Unit, m.Own.Basis
		if m.AtShare != 0 {
			t.AtShare = &m.AtShare
		}
		if m.Resolution != 0 {
			t.Resolution = &m.Resolution
		}
		if m.Range != nil {
			t.Range = []float64{m.Range.Low, m.Range.High}
		}
		out.Method = append(out.Method, t)
	}
	if err := toml.NewEncoder(w).Encode(out); err != nil {
		return fmt.Errorf("writing methods: %w", err)
	}
	return nil
}
