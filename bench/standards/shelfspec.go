package standards

import (
	"time"

	"knownwater/science/known"
	"knownwater/science/unit"
)

// ItemKind is what a thing on the shelf is.
type ItemKind string

// The kinds of things on the shelf.
const (
	DeviceItem ItemKind = "device" // flask, pipette, syringe, dropper, scale
	StockItem  ItemKind = "stock"  // a solution of known strength
	WaterItem  ItemKind = "water"  // a matrix: the salt water that standards are made up with
)

// ItemSpec describes one thing on the shelf: what a person types into its form.
// Of Device, Stock and Water the one that Kind names is set.
type ItemSpec struct {
	Kind   ItemKind    `json:"kind"`
	Name   string      `json:"name"`
	Note   string      `json:"note,omitempty"`
	Device *DeviceSpec `json:"device,omitempty"`
	Stock  *StockSpec  `json:"stock,omitempty"`
	Water  *WaterSpec  `json:"water,omitempty"`
}

// DeviceSpec is one piece of glassware, one pipette or one scale. Volumes are
// mL, a scale's numbers g; 0 means not known, see [known.Device].
type DeviceSpec struct {
	Kind      known.DeviceKind `json:"kind"`
	Nominal   float64          `json:"nominal"`
	Class     string           `json:"class,omitempty"`
	Smallest  float64          `json:"smallest,omitempty"`
	Step      float64          `json:"step,omitempty"`
	Tolerance float64          `json:"tolerance,omitempty"`
	Random    float64          `json:"random,omitempty"`
	Gain      float64          `json:"gain,omitempty"`
	Check     *OwnCheck        `json:"check,omitempty"`
}

// OwnCheck is a person's check of a device by weighing pure water.
type OwnCheck struct {
	Setting     float64   `json:"setting"`
	Weights     []float64 `json:"weights"`
	Temperature float64   `json:"temperature"`
	Pressure    float64   `json:"pressure,omitempty"`
	UScale      float64   `json:"u_scale,omitempty"`
}

// StockSpec is a stock: certified (Value with U, or with Expanded and K) or
// weighed from a salt. Days are texts like 2026-03-01.
type StockSpec struct {
	Scale    unit.Scale   `json:"scale"`
	Value    float64      `json:"value,omitempty"`
	U        float64      `json:"u,omitempty"`
	Expanded float64      `json:"expanded,omitempty"`
	K        float64      `json:"k,omitempty"`
	Salt     *WeighedSpec `json:"salt,omitempty"`

	Made     string  `json:"made,omitempty"`
	Expires  string  `json:"expires,omitempty"`
	Left     float64 `json:"left,omitempty"` // mL when this version was written down; 0: not limited
	Density  float64 `json:"density,omitempty"`
	UDensity float64 `json:"u_density,omitempty"`
	Loss     float64 `json:"loss,omitempty"` // g of water gone since the value held
	ULoss    float64 `json:"u_loss,omitempty"`
	LossFrom float64 `json:"loss_from,omitempty"` // mL that were in it then
}

// WeighedSpec is how a stock was weighed; scale and flask by name.
type WeighedSpec struct {
	Salt         string  `json:"salt"`
	Mass         float64 `json:"mass"`
	Purity       float64 `json:"purity"`
	PurityWithin float64 `json:"purity_within,omitempty"`
	Scale        string  `json:"scale"`
	Flask        string  `json:"flask"`
}

// WaterSpec is a matrix water with what it holds itself.
type WaterSpec struct {
	Salinity    float64          `json:"salinity"`
	Backgrounds []BackgroundSpec `json:"backgrounds,omitempty"`
}

// BackgroundSpec is what a water holds of one analyte, and how that is known.
type BackgroundSpec struct {
	Scale unit.Scale `json:"scale"`
	Value float64    `json:"value"`
	U     float64    `json:"u"`
	How   string     `json:"how,omitempty"`
}

// LimitsSpec are the limits of a plan, see [known.Limits].
type LimitsSpec struct {
	Volume        float64 `json:"volume"`
	LevelWithin   float64 `json:"level_within"`
	SalinityCut   float64 `json:"salinity_cut"`
	Smallest      float64 `json:"smallest_volume"`
	Deliveries    int     `json:"deliveries"`
	Intermediates int     `json:"intermediates"`
	Steps         int     `json:"steps,omitempty"`
	MatrixLeft    float64 `json:"matrix_left,omitempty"`
	Added         bool    `json:"added,omitempty"` // levels are on top of the background
}

// DefaultLimits are limits for hand work.
func DefaultLimits() LimitsSpec {
	d := known.DefaultLimits
	return LimitsSpec{Volume: d.Volume, LevelWithin: d.LevelWithin, SalinityCut: d.SalinityCut, Smallest: d.Smallest,
		Deliveries: d.Deliveries, Intermediates: d.Intermediates}
}

func (s LimitsSpec) known() known.Limits {
	return known.Limits{Volume: s.Volume, LevelWithin: s.LevelWithin, SalinityCut: s.SalinityCut, Smallest: s.Smallest,
		Deliveries: s.Deliveries, Intermediates: s.Intermediates, Steps: s.Steps, MatrixLeft: s.MatrixLeft, Added: s.Added}
}

func (s DeviceSpec) known(name string) known.Device {
	d := known.Device{Name: name, Kind: s.Kind, Nominal: s.Nominal, Class: s.Class, Smallest: s.Smallest, Step: s.Step,
		Tolerance: s.Tolerance, Random: s.Random, Gain: s.Gain}
	if c := s.Check; c != nil {
		d.Check = &known.VolumeCheck{Setting: c.Setting, Weights: c.Weights, Temperature: c.Temperature, Pressure: c.Pressure, UScale: c.UScale}
	}
	return d
}

// StandardU is the stock's standard uncertainty, from U or from the
// certificate's expanded one.
func (s StockSpec) StandardU() float64 {
	if s.Expanded > 0 && s.K > 0 {
		return s.Expanded / s.K
	}
	return s.U
}

// known is the stock as it was when the version was written down.
func (s StockSpec) known(name string) known.Stock {
	st := known.Stock{Name: name, Scale: s.Scale, Value: s.Value, U: s.StandardU(), Density: s.Density, UDensity: s.UDensity, Left: s.Left,
		Made: dayOf(s.Made), Expires: dayOf(s.Expires), Loss: s.Loss, ULoss: s.ULoss, LossFrom: s.LossFrom}
	if w := s.Salt; w != nil {
		st.Value, st.U = 0, 0
		st.Salt = &known.Weighed{Salt: w.Salt, Mass: w.Mass, Scale: w.Scale, Purity: w.Purity, PurityWithin: w.PurityWithin, Flask: w.Flask}
	}
	return st
}

// Background is what the water holds of an analyte; false where that is not
// stated.
func (s WaterSpec) Background(analyte string) (BackgroundSpec, bool) {
	for _, b := range s.Backgrounds {
		if b.Scale.Analyte == analyte {
			return b, true
		}
	}
	return BackgroundSpec{}, false
}

// dayOf is the start of a day; the zero time for no day.
func dayOf(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return time.Time{}
	}
	return t
}
