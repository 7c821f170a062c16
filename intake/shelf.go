package intake

import (
	"fmt"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"knownwater"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// The file shelf.toml, as docs/formats-knowns.md describes it.

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

// Shelf reads shelf.toml, with what is doubtful of it on the day. The error holds
// knownwater.Faults.
func Shelf(src Source, day time.Time) (known.Shelf, []note.Note, error) {
	s, faults := readShelf(src)
	if faults != nil {
		return known.Shelf{}, nil, faults
	}
	faults, notes := s.Examine(day)
	if faults != nil {
		return known.Shelf{}, nil, src.placed(faults)
	}
	return s, notes, nil
}

func readShelf(src Source) (known.Shelf, knownwater.Faults) {
	var f shelfFile
	if _, faults := src.decode(&f, knownsPage); faults != nil {
		return known.Shelf{}, faults
	}
	scale, err := unit.Parse(f.Analyte, f.Unit, f.Basis)
	if err != nil {
		return known.Shelf{}, src.refuse(0, "analyte, unit, basis", err.Error(), "")
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
	s.Limits, faults = f.limits()
	for _, st := range f.Stock {
		stock, fault := st.stock(scale)
		s.Stocks, faults = append(s.Stocks, stock), append(faults, fault...)
	}
	for _, d := range f.Device {
		s.Devices = append(s.Devices, d.device())
	}
	return s, src.placed(faults)
}

func (f shelfFile) limits() (known.Limits, knownwater.Faults) {
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
		return out, knownwater.Faults{{Column: "limits levels", Found: fmt.Sprintf("%q", in.Levels), Want: "total (with the background) or added (on top of it)"}}
	}
	return out, nil
}

func set[T any](to *T, from *T) {
	if from != nil {
		*to = *from
	}
}

func (f stockFile) stock(scale unit.Scale) (known.Stock, knownwater.Faults) {
	place := fmt.Sprintf("stock %q", f.Name)
	var faults knownwater.Faults
	fault := func(key, found, want string) {
		faults = append(faults, knownwater.Fault{Column: place + " " + key, Found: found, Want: want})
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

// placed adds file and, where a thing is named, the row where its name stands.
func (s Source) placed(faults knownwater.Faults) knownwater.Faults {
	text, unread := s.text()
	if unread != nil {
		return unread
	}
	lines := strings.Split(string(text), "\n")
	for i := range faults {
		faults[i].File = s.Name
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
