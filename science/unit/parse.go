package unit

import (
	"fmt"
	"sort"
	"strings"
)

type dimension int

const (
	mass       dimension = iota // base: mg
	amount                      // base: mmol
	equivalent                  // base: mmol of charge
)

type volume int

const (
	litre volume = iota
	kilogram
)

// measure is a unit: size in the base of its dimension, per litre or kilogram.
type measure struct {
	dimension dimension
	per       volume
	size      float64
	shown     string
}

// dKH is 10 mg/L of CaO, each CaO standing for two equivalents.
var dKH = 10 * 2 / massOf(map[string]int{"Ca": 1, "O": 1})

// measures by their settled spelling.
var measures = map[string]measure{
	"mg/L":    {mass, litre, 1, "mg/L"},
	"ug/L":    {mass, litre, 1e-3, "µg/L"},
	"g/L":     {mass, litre, 1e3, "g/L"},
	"mg/kg":   {mass, kilogram, 1, "mg/kg"},
	"ug/kg":   {mass, kilogram, 1e-3, "µg/kg"},
	"g/kg":    {mass, kilogram, 1e3, "g/kg"},
	"mol/L":   {amount, litre, 1e3, "mol/L"},
	"mmol/L":  {amount, litre, 1, "mmol/L"},
	"umol/L":  {amount, litre, 1e-3, "µmol/L"},
	"mmol/kg": {amount, kilogram, 1, "mmol/kg"},
	"umol/kg": {amount, kilogram, 1e-3, "µmol/kg"},
	"meq/L":   {equivalent, litre, 1, "meq/L"},
	"meq/kg":  {equivalent, kilogram, 1, "meq/kg"},
	"dKH":     {equivalent, litre, dKH, "dKH"},
}

// unitSpellings lead from other spellings (small letters, u for µ) to the settled one.
var unitSpellings = map[string]string{
	"ppm": "mg/L", "ppb": "ug/L",
	"g/m3": "mg/L", "mg/dm3": "mg/L", "mg/m3": "ug/L", "um": "umol/L", "mm": "mmol/L", "umol/dm3": "umol/L",
	"mval/l": "meq/L", "kh": "dKH", "°kh": "dKH", "°dkh": "dKH", "degkh": "dKH", "degdkh": "dKH",
}

// analyte is what Parse knows of one analyte.
type analyte struct {
	name      string
	spellings []string
	bases     []string // formulas; the first is what an empty basis means
	alkaline  bool     // counted in equivalents
	plenty    bool     // sea water holds millimoles of it
}

var analytes = []analyte{
	{name: "nitrate", spellings: []string{"no3"}, bases: []string{"NO3", "N"}},
	{name: "nitrite", spellings: []string{"no2"}, bases: []string{"NO2", "N"}},
	{name: "ammonia", spellings: []string{"ammonium", "nh3", "nh4", "tan"}, bases: []string{"NH3", "NH4", "N"}},
	{name: "phosphate", spellings: []string{"orthophosphate", "po4"}, bases: []string{"PO4", "P"}},
	{name: "silicate", spellings: []string{"silica", "sio2", "si"}, bases: []string{"SiO2", "Si"}},
	{name: "alkalinity", spellings: []string{"kh", "total alkalinity"}, bases: []string{"CaCO3"}, alkaline: true},
	{name: "calcium", spellings: []string{"ca"}, bases: []string{"Ca", "CaCO3"}, plenty: true},
	{name: "magnesium", spellings: []string{"mg"}, bases: []string{"Mg"}, plenty: true},
	{name: "potassium", spellings: []string{"k"}, bases: []string{"K"}, plenty: true},
	{name: "iodide", spellings: []string{"i"}, bases: []string{"I"}},
}

// basisSpellings lead from words and part formulas (small letters) to a formula.
var basisSpellings = map[string]string{
	"nitrate": "NO3", "nitrite": "NO2", "ammonia": "NH3", "ammonium": "NH4", "nitrogen": "N",
	"no3-n": "N", "no2-n": "N", "nh3-n": "N", "nh4-n": "N",
	"phosphate": "PO4", "phosphorus": "P", "po4-p": "P", "silica": "SiO2", "silicon": "Si", "sio2-si": "Si",
	"calcium carbonate": "CaCO3",
}

// Analytes are the names that Parse knows, in order.
func Analytes() []string {
	var names []string
	for _, a := range analytes {
		names = append(names, a.name)
	}
	return names
}

// Bases are the bases of an analyte, the default first; nil if it is unknown.
func Bases(name string) []string {
	a, err := findAnalyte(name)
	if err != nil {
		return nil
	}
	return append([]string(nil), a.bases...)
}

// Parse settles the spelling of a scale. An empty basis means the analyte's
// first one; the basis may also stand behind the unit ("mg/L NO3", "mg/L as
// CaCO3"). An error says what would be right.
//
// "ppm" is read as mg/L, which is what the trade means by it (common practice,
// no source); by weight, mg/kg, it would differ by 2.3 % in sea water.
func Parse(name, unitText, basisText string) (Scale, error) {
	a, err := findAnalyte(name)
	if err != nil {
		return Scale{}, err
	}
	unitName, behind, err := findUnit(unitText, a)
	if err != nil {
		return Scale{}, err
	}
	basis, err := findBasis(basisText, a)
	if err != nil {
		return Scale{}, err
	}
	if behind != "" {
		second, err := findBasis(behind, a)
		if err != nil {
			return Scale{}, err
		}
		if basisText != "" && basis != second {
			return Scale{}, fmt.Errorf("unit %q says %s but the basis says %s: give one of them", unitText, second, basis)
		}
		basis = second
	}
	if a.alkaline && measures[unitName].dimension != mass {
		basis = "" // dKH and meq/L have one meaning
	}
	return Scale{Analyte: a.name, Unit: unitName, Basis: basis}, nil
}

func findAnalyte(text string) (analyte, error) {
	t := plain(text)
	for _, a := range analytes {
		if t == a.name {
			return a, nil
		}
		for _, s := range a.spellings {
			if t == s {
				return a, nil
			}
		}
	}
	return analyte{}, fmt.Errorf("analyte %q: one of %s is needed", text, strings.Join(Analytes(), ", "))
}

// findUnit settles the unit and hands back what stands behind it.
func findUnit(text string, a analyte) (name, behind string, err error) {
	name, behind = spelledUnit(text)
	if name == "" || !a.counts(measures[name].dimension) {
		return "", "", fmt.Errorf("unit %q for %s: one of %s is needed", text, a.name, strings.Join(a.units(), ", "))
	}
	return name, behind, nil
}

var perUnit = strings.NewReplacer(" l-1", "/l", " kg-1", "/kg", " / ", "/")

// settledUnits are the settled spellings by their small letters.
var settledUnits = func() map[string]string {
	m := map[string]string{}
	for settled := range measures {
		m[strings.ToLower(settled)] = settled
	}
	return m
}()

// spelledUnit parts a text into a unit, "" where it begins with none, and what
// stands behind.
func spelledUnit(text string) (name, behind string) {
	t := perUnit.Replace(strings.TrimPrefix(plain(text), "as "))
	first, rest, _ := strings.Cut(t, " ")
	if name = settledUnits[first]; name == "" {
		name = unitSpellings[first]
	}
	return name, strings.TrimSpace(rest)
}

// IsUnit says whether a text is a unit of any analyte, with a basis behind it or
// not: mg/L, ppm, mg/L as N, dKH.
func IsUnit(text string) bool {
	name, behind := spelledUnit(text)
	if name == "" {
		return false
	}
	for _, a := range analytes {
		if !a.counts(measures[name].dimension) {
			continue
		}
		if _, err := findBasis(behind, a); err == nil {
			return true
		}
	}
	return false
}

// counts says whether the analyte can be given in a dimension. An amount of
// alkalinity is an amount of the acid it neutralises, so it is allowed.
func (a analyte) counts(d dimension) bool { return d != equivalent || a.alkaline }

func (a analyte) units() []string {
	var names []string
	for name, m := range measures {
		if a.counts(m.dimension) {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	return names
}

func findBasis(text string, a analyte) (string, error) {
	t := strings.TrimPrefix(plain(text), "as ")
	if t == "" {
		return a.bases[0], nil
	}
	if f, found := basisSpellings[t]; found {
		t = strings.ToLower(f)
	}
	t = strings.TrimRight(t, "-+") // the charge of an ion
	for _, b := range a.bases {
		if t == strings.ToLower(b) {
			return b, nil
		}
	}
	return "", fmt.Errorf("basis %q for %s: %s is needed", text, a.name, strings.Join(a.bases, " or "))
}

// plain is the text in small letters, with one kind of mu, plain digits and
// signs, and single spaces.
func plain(text string) string {
	return strings.Join(strings.Fields(strings.ToLower(plainly.Replace(text))), " ")
}

var plainly = strings.NewReplacer("µ", "u", "μ", "u", "·", "", "⁻", "-", "−", "-", "⁺", "+",
	"¹", "1", "²", "2", "³", "3", "⁴", "4", "₂", "2", "₃", "3", "₄", "4", "(", " ", ")", " ")

// settled is a scale with what is needed to count on it.
type settled struct {
	scale   Scale
	analyte analyte
	measure measure
}

func settle(s Scale) (settled, error) {
	p, err := Parse(s.Analyte, s.Unit, s.Basis)
	if err != nil {
		return settled{}, err
	}
	a, _ := findAnalyte(p.Analyte)
	return settled{scale: p, analyte: a, measure: measures[p.Unit]}, nil
}

// inBase is one unit of the scale in mmol (of acid neutralised, for
// alkalinity) per litre or kilogram.
func (s settled) inBase() float64 {
	if s.measure.dimension != mass {
		return s.measure.size
	}
	atoms, _ := Atoms(s.scale.Basis)
	m := massOf(atoms)
	if s.analyte.alkaline {
		m /= 2 // CaCO3 takes up two protons
	}
	return s.measure.size / m
}

// Usual is the scale of an analyte where nobody says: dKH for alkalinity, else mg/L in
// the analyte's first basis (common practice, no source).
func Usual(name string) (Scale, error) {
	a, err := findAnalyte(name)
	if err != nil {
		return Scale{}, err
	}
	if a.alkaline {
		return Parse(a.name, "dKH", "")
	}
	return Parse(a.name, "mg/L", "")
}
