package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"knownwater"
	"knownwater/science/known"
	"knownwater/science/unit"
)

// The files of the knowns: shelf.toml and prepared.toml, as
// docs/formats-knowns.md describes them.

type shelfFile struct {
	Analyte string `toml:"analyte"`
	Unit    string `toml:"unit"`
	Basis   string `toml:"basis"`
	Room    struct {
		Temperature float64  `toml:"temperature"`
		Within      *float64 `toml:"within"`
	} `toml:"room"`
	Matrix struct {
		Name       string  `toml:"name"`
		Salinity   float64 `toml:"salinity"`
		Background float64 `toml:"background"`
		U          float64 `toml:"u"`
		How        string  `toml:"how"`
	} `toml:"matrix"`
	Limits struct {
		Volume        *float64 `toml:"volume"`
		LevelWithin   *float64 `toml:"level_within"`
		SalinityCut   *float64 `toml:"salinity_cut"`
		Smallest      *float64 `toml:"smallest_volume"`
		Deliveries    *int     `toml:"deliveries"`
		Intermediates *int     `toml:"intermediates"`
		Steps         int      `toml:"steps"`
		MatrixLeft    float64  `toml:"matrix_left"`
		Levels        string   `toml:"levels"`
	} `toml:"limits"`
	Stock  []stockFile  `toml:"stock"`
	Device []deviceFile `toml:"device"`
}

type stockFile struct {
	Name         string         `toml:"name"`
	Value        float64        `toml:"value"`
	Unit         string         `toml:"unit"`
	Basis        string         `toml:"basis"`
	U            float64        `toml:"u"`
	Expanded     float64        `toml:"expanded"`
	K            float64        `toml:"k"`
	Salt         string         `toml:"salt"`
	Mass         float64        `toml:"mass"`
	Scale        string         `toml:"scale"`
	Purity       float64        `toml:"purity"`
	PurityWithin float64        `toml:"purity_within"`
	Flask        string         `toml:"flask"`
	Density      float64        `toml:"density"`
	UDensity     float64        `toml:"u_density"`
	Left         float64        `toml:"left"`
	Made         toml.LocalDate `toml:"made"`
	Expires      toml.LocalDate `toml:"expires"`
	Loss         float64        `toml:"loss"`
	ULoss        float64        `toml:"u_loss"`
	LossFrom     float64        `toml:"loss_from"`
}

type deviceFile struct {
	Name      string  `toml:"name"`
	Kind      string  `toml:"kind"`
	Nominal   float64 `toml:"nominal"`
	Class     string  `toml:"class"`
	Smallest  float64 `toml:"smallest"`
	Step      float64 `toml:"step"`
	Tolerance float64 `toml:"tolerance"`
	Random    float64 `toml:"random"`
	Gain      float64 `toml:"gain"`
	Check     *struct {
		Setting     float64   `toml:"setting"`
		Weights     []float64 `toml:"weights"`
		Temperature float64   `toml:"temperature"`
		Pressure    float64   `toml:"pressure"`
		UScale      float64   `toml:"u_scale"`
	} `toml:"check"`
}

type preparedFile struct {
	Person   string         `toml:"person"`
	Day      toml.LocalDate `toml:"day"`
	Note     string         `toml:"note"`
	Solution []struct {
		Name  string      `toml:"name"`
		Code  string      `toml:"code"`
		Level *float64    `toml:"level"`
		From  string      `toml:"from"`
		Take  measureFile `toml:"take"`
		Make  measureFile `toml:"make"`
		In    string      `toml:"in"`
		Note  string      `toml:"note"`
	} `toml:"solution"`
}

type measureFile struct {
	Device  string  `toml:"device"`
	Amount  float64 `toml:"amount"`
	Times   *int    `toml:"times"`
	Planned float64 `toml:"planned"`
}

// readShelf turns a file into a shelf that has yet to be checked.
func readShelf(path string, text []byte) (known.Shelf, error) {
	var f shelfFile
	if err := decodeTOML(path, text, &f); err != nil {
		return known.Shelf{}, err
	}
	scale, err := unit.Parse(f.Analyte, f.Unit, f.Basis)
	if err != nil {
		return known.Shelf{}, knownwater.Fault{File: path, Column: "analyte, unit, basis", Found: err.Error()}
	}
	s := known.Shelf{
		Scale:  scale,
		Room:   known.Room{Temperature: f.Room.Temperature, Within: 3},
		Matrix: known.Matrix{Name: f.Matrix.Name, Salinity: f.Matrix.Salinity, Background: f.Matrix.Background, U: f.Matrix.U, How: f.Matrix.How},
	}
	if f.Room.Within != nil {
		s.Room.Within = *f.Room.Within
	}
	var faults knownwater.Faults
	s.Limits, faults = f.limits(path)
	for _, st := range f.Stock {
		stock, fault := st.stock(path, scale)
		s.Stocks, faults = append(s.Stocks, stock), append(faults, fault...)
	}
	for _, d := range f.Device {
		s.Devices = append(s.Devices, d.device())
	}
	if faults != nil {
		return s, placed(path, text, faults)
	}
	return s, nil
}

func (f shelfFile) limits(path string) (known.Limits, knownwater.Faults) {
	out, in := known.DefaultLimits, f.Limits
	set(&out.Volume, in.Volume)
	set(&out.LevelWithin, in.LevelWithin)
	set(&out.SalinityCut, in.SalinityCut)
	set(&out.Smallest, in.Smallest)
	set(&out.Deliveries, in.Deliveries)
	set(&out.Intermediates, in.Intermediates)
	out.Steps, out.MatrixLeft = in.Steps, in.MatrixLeft
	switch in.Levels {
	case "", "total":
	case "added":
		out.Added = true
	default:
		return out, knownwater.Faults{{File: path, Column: "limits levels", Found: fmt.Sprintf("%q", in.Levels), Want: "total (with the background) or added (on top of it)"}}
	}
	return out, nil
}

func set[T any](to *T, from *T) {
	if from != nil {
		*to = *from
	}
}

func (f stockFile) stock(path string, scale unit.Scale) (known.Stock, knownwater.Faults) {
	place := fmt.Sprintf("stock %q", f.Name)
	var faults knownwater.Faults
	fault := func(key, found, want string) {
		faults = append(faults, knownwater.Fault{File: path, Column: place + " " + key, Found: found, Want: want})
	}
	st := known.Stock{
		Name: f.Name, Scale: scale, Value: f.Value, U: f.U, Density: f.Density, UDensity: f.UDensity, Left: f.Left,
		Made: dayOf(f.Made), Expires: dayOf(f.Expires), Loss: f.Loss, ULoss: f.ULoss, LossFrom: f.LossFrom,
	}
	if f.Salt != "" {
		if f.Value != 0 {
			fault("value", "a weighed stock with a value", "either value (certified), or salt and mass (weighed)")
		}
		st.Salt = &known.Weighed{Salt: f.Salt, Mass: f.Mass, Scale: f.Scale, Purity: f.Purity, PurityWithin: f.PurityWithin, Flask: f.Flask}
		return st, faults
	}
	if f.Unit != "" || f.Basis != "" {
		unitText := f.Unit
		if unitText == "" {
			unitText = scale.Unit
		}
		parsed, err := unit.Parse(scale.Analyte, unitText, f.Basis)
		if err != nil {
			fault("unit", err.Error(), "")
		}
		st.Scale = parsed
	}
	switch {
	case f.Expanded != 0 && f.U != 0:
		fault("u", "both u and expanded", "u (standard uncertainty), or expanded (the certificate's U) with its k")
	case f.Expanded != 0 && f.K == 0:
		fault("k", "expanded without k", "the certificate's coverage factor, mostly k = 2")
	case f.K != 0 && !(f.K >= 1 && f.K <= 5):
		fault("k", fmt.Sprint(f.K), "a coverage factor from 1 to 5, mostly 2")
	case f.Expanded != 0:
		st.U = f.Expanded / f.K
	}
	return st, faults
}

// dayOf is the start of a day; no day is the zero time.
func dayOf(d toml.LocalDate) time.Time {
	if d == (toml.LocalDate{}) {
		return time.Time{}
	}
	return d.AsTime(time.UTC)
}

func (f deviceFile) device() known.Device {
	d := known.Device{
		Name: f.Name, Kind: known.DeviceKind(f.Kind), Nominal: f.Nominal, Class: f.Class, Smallest: f.Smallest, Step: f.Step,
		Tolerance: f.Tolerance, Random: f.Random, Gain: f.Gain,
	}
	if c := f.Check; c != nil {
		d.Check = &known.VolumeCheck{Setting: c.Setting, Weights: c.Weights, Temperature: c.Temperature, Pressure: c.Pressure, UScale: c.UScale}
	}
	return d
}

// prepared is a preparation with what had been planned, by name of solution.
type prepared struct {
	solutions known.Preparation
	planned   map[string]float64
}

func readPrepared(path string, text []byte) (prepared, error) {
	var f preparedFile
	if err := decodeTOML(path, text, &f); err != nil {
		return prepared{}, err
	}
	out := prepared{planned: map[string]float64{}}
	for _, x := range f.Solution {
		s := known.Solution{
			Name: x.Name, Code: x.Code, From: x.From, In: known.Diluent(x.In),
			Take: x.Take.measure(), Make: x.Make.measure(),
		}
		if s.In == "" {
			s.In = known.InMatrix
		}
		if x.Level != nil {
			s.Standard, s.Asked = true, *x.Level
		}
		if x.Take.Planned > 0 {
			out.planned[x.Name] = x.Take.Planned
		}
		out.solutions = append(out.solutions, s)
	}
	return out, nil
}

func (m measureFile) measure() known.Measure {
	out := known.Measure{Device: m.Device, Amount: m.Amount, Times: 1}
	set(&out.Times, m.Times)
	return out
}

// writePrepared writes a plan to be filled in.
func writePrepared(w io.Writer, shelf known.Shelf, p known.Preparation) error {
	var b strings.Builder
	b.WriteString("# The plan. Put what you really took or weighed into amount; planned stays as it is.\n")
	b.WriteString("# person = \"\"\n# day = 2026-01-31\n")
	for _, x := range p {
		fmt.Fprintf(&b, "\n[[solution]]\nname = %q\n", x.Name)
		if x.Standard {
			fmt.Fprintf(&b, "code = %q\nlevel = %v\n", x.Code, x.Asked)
		}
		if x.From != "" {
			fmt.Fprintf(&b, "from = %q\ntake = { device = %q, amount = %v, times = %d, planned = %v }\n", x.From, x.Take.Device, x.Take.Amount, x.Take.Times, x.Take.Amount)
			fmt.Fprintf(&b, "make = { device = %q, amount = %v }\n", x.Make.Device, x.Make.Amount)
		}
		fmt.Fprintf(&b, "in = %q\n", x.In)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// decodeTOML reads a file whole; unknown keys, wrong types and wrong syntax
// are faults with their row.
func decodeTOML(path string, text []byte, into any) error {
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(text) {
		return knownwater.Fault{File: path, Found: "bytes that are not UTF-8", Want: "a file saved as UTF-8"}
	}
	const want = "TOML as docs/formats-knowns.md shows it"
	d := toml.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	var unknown *toml.StrictMissingError
	var wrong *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		var faults knownwater.Faults
		for _, e := range unknown.Errors {
			row, _ := e.Position()
			faults = append(faults, knownwater.Fault{File: path, Row: row, Column: strings.Join(e.Key(), "."), Found: "an unknown key", Want: "a key of docs/formats-knowns.md; look for a slip of the pen"})
		}
		return faults
	case errors.As(err, &wrong):
		row, _ := wrong.Position()
		return knownwater.Fault{File: path, Row: row, Column: strings.Join(wrong.Key(), "."), Found: strings.TrimPrefix(wrong.Error(), "toml: "), Want: want}
	case err != nil:
		return knownwater.Fault{File: path, Found: strings.TrimPrefix(err.Error(), "toml: "), Want: want}
	}
	return nil
}

// inFile puts the file's name into faults.
func inFile(path string, faults knownwater.Faults) knownwater.Faults {
	for i := range faults {
		if faults[i].File == "" {
			faults[i].File = path
		}
	}
	return faults
}

// placed adds file and, where a thing is named, the row where its name stands.
func placed(path string, text []byte, faults knownwater.Faults) knownwater.Faults {
	lines := strings.Split(string(text), "\n")
	for i := range faults {
		faults[i].File = path
		parts := strings.Split(faults[i].Column, `"`)
		if len(parts) < 3 || faults[i].Row > 0 {
			continue
		}
		for n, line := range lines {
			if key, value, found := strings.Cut(line, "="); found && strings.TrimSpace(key) == "name" && strings.Contains(value, parts[1]) {
				faults[i].Row = n + 1
				break
			}
		}
	}
	return faults
}
