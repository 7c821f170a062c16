package knownwater

import (
	"math"

	"knownwater/science/interval"
	"knownwater/science/unit"
)

// Versioned is one version of a thing that is kept in versions: a method, a thing
// on the shelf, a set of standards, a curve. A version never changes: saving a
// changed description makes the next one, and whatever used the old one keeps it.
type Versioned[S any] struct {
	ID        int64 // of the thing, whatever the version
	VersionID int64 // of this version: what others name
	Version   int   // 1, 2, 3 …
	Latest    bool
	Retired   bool // off the lists for new plans
	Spec      S    // the description
	Why       string
	Made      Stamp
}

// MethodSpec describes a method: what a person types into its form.
type MethodSpec struct {
	Name     string     `json:"name"`
	Kind     Kind       `json:"kind"`
	Scale    unit.Scale `json:"scale"` // what the method's own numbers mean
	Swatches []Swatch   `json:"swatches,omitempty"`
	AtShare  float64    `json:"at_share,omitempty"` // chart; 0: DefaultAtShare

	Resolution float64  `json:"resolution,omitempty"` // display, absorbance, photo
	DropValue  float64  `json:"drop_value,omitempty"` // drops
	RangeLow   *float64 `json:"range_low,omitempty"`  // display: both or neither
	RangeHigh  *float64 `json:"range_high,omitempty"`

	Steps    []Step   `json:"steps,omitempty"` // in order; the last one is the reading
	Dilution Dilution `json:"dilution"`

	PackPrice      float64 `json:"pack_price,omitempty"`
	PackTests      int     `json:"pack_tests,omitempty"`
	RefillPrice    float64 `json:"refill_price,omitempty"`
	RefillTests    int     `json:"refill_tests,omitempty"`
	Minutes        float64 `json:"minutes,omitempty"`          // start to reading
	HandsOnMinutes float64 `json:"hands_on_minutes,omitempty"` // of those, with hands on it

	ShelfMonths  float64 `json:"shelf_life_months,omitempty"`        // that an opened pack is good for
	RefillMonths float64 `json:"refill_shelf_life_months,omitempty"` // a refill, where that is another time

	DevicePrice float64  `json:"device_price,omitempty"`
	DeviceYears float64  `json:"device_years,omitempty"`
	WasteML     float64  `json:"waste_ml,omitempty"`
	Hazards     []string `json:"hazards,omitempty"`

	Note    string `json:"note,omitempty"`
	Caution string `json:"caution,omitempty"` // shown wherever the reagents are handled
}

// Swatch is one colour of a chart. The colour is only a reminder of order on
// the reading pad: nobody matches on a screen.
type Swatch struct {
	Value  float64 `json:"value"`
	Colour string  `json:"colour,omitempty"` // #rrggbb, the user's own
}

// Step is one timed step of a test procedure. All but the last prepare the
// reading; the last is the reading itself.
type Step struct {
	Name    string  `json:"name"`               // shake, wait, read
	Seconds float64 `json:"seconds"`            // how long it takes
	HandsOn bool    `json:"hands_on,omitempty"` // needs the hands: two such steps never overlap
	Within  float64 `json:"within,omitempty"`   // reading: seconds after it falls due within which it must be taken; 0: any time
}

// Dilution is the rule by which a procedure dilutes, and with what.
type Dilution struct {
	Over         float64 `json:"over,omitempty"`      // dilute above this reading; 0: never
	Factor       float64 `json:"factor,omitempty"`    // 8 for 1 part sample + 7 parts water; worked out from the volumes where they are given
	SampleML     float64 `json:"sample_ml,omitempty"` // what was measured out, and with what
	USampleML    float64 `json:"u_sample_ml,omitempty"`
	SampleDevice string  `json:"sample_device,omitempty"`
	WaterML      float64 `json:"water_ml,omitempty"`
	UWaterML     float64 `json:"u_water_ml,omitempty"`
	WaterDevice  string  `json:"water_device,omitempty"`
}

// By is the factor of a dilution: from the volumes where they are given.
func (d Dilution) By() float64 {
	if d.SampleML > 0 && d.WaterML > 0 {
		return (d.SampleML + d.WaterML) / d.SampleML
	}
	return d.Factor
}

// U is the relative standard uncertainty of the factor, from the volumes; 0
// where they are not known. With D = 1 + w/s,
// u(D) = w/s · √((u(s)/s)² + (u(w)/w)²).
func (d Dilution) U() float64 {
	if !(d.SampleML > 0 && d.WaterML > 0) {
		return 0
	}
	r := d.WaterML / d.SampleML
	return r * math.Hypot(d.USampleML/d.SampleML, d.UWaterML/d.WaterML) / (1 + r)
}

// Method is what the science needs of the description, on the method's own scale.
func (s MethodSpec) Method() Method {
	m := Method{
		Name: s.Name, Kind: s.Kind, AtShare: s.AtShare, Resolution: s.Resolution, DropValue: s.DropValue,
		PackPrice: s.PackPrice, RefillPrice: s.RefillPrice, PackTests: s.PackTests, RefillTests: s.RefillTests,
		Minutes: s.Minutes, HandsOnMinutes: s.HandsOnMinutes,
		ShelfMonths: s.ShelfMonths, RefillMonths: s.RefillMonths, DevicePrice: s.DevicePrice, DeviceYears: s.DeviceYears, WasteML: s.WasteML, Hazards: s.Hazards,
	}
	for _, w := range s.Swatches {
		m.Swatches = append(m.Swatches, w.Value)
	}
	if s.RangeLow != nil && s.RangeHigh != nil {
		m.Range = &interval.Interval{Low: *s.RangeLow, High: *s.RangeHigh}
	}
	m.DilutionOver, m.DilutionFactor = s.Dilution.Over, s.Dilution.By()
	return m
}

// SpecOf is a method's description as far as the science knows it: what Method gives back.
// Its scale is the caller's to say.
func SpecOf(m Method) MethodSpec {
	s := MethodSpec{
		Name: m.Name, Kind: m.Kind, AtShare: m.AtShare, Resolution: m.Resolution, DropValue: m.DropValue,
		PackPrice: m.PackPrice, RefillPrice: m.RefillPrice, PackTests: m.PackTests, RefillTests: m.RefillTests,
		Minutes: m.Minutes, HandsOnMinutes: m.HandsOnMinutes,
		ShelfMonths: m.ShelfMonths, RefillMonths: m.RefillMonths, DevicePrice: m.DevicePrice, DeviceYears: m.DeviceYears, WasteML: m.WasteML, Hazards: m.Hazards,
		Dilution: Dilution{Over: m.DilutionOver, Factor: m.DilutionFactor},
	}
	for _, v := range m.Swatches {
		s.Swatches = append(s.Swatches, Swatch{Value: v})
	}
	if m.Range != nil {
		low, high := m.Range.Low, m.Range.High
		s.RangeLow, s.RangeHigh = &low, &high
	}
	return s
}

// MethodVersion is one version of a method on the bench.
type MethodVersion struct {
	Versioned[MethodSpec]
	Trials    int // sealed trials that use this version
	Vials     int // vials in those
	TestsLeft int // over all lots; -1 where no lot says how many tests it holds
}

// Lot is one batch of a method's reagents.
type Lot struct {
	ID           int64
	MethodID     int64
	Code         string // as printed on the pack
	OpenedOn     string // 2026-03-01, empty if not yet opened or not known
	ExpiresOn    string // 2027-08-31, empty if not known
	ChartEdition string
	Tests        int // how many tests it holds when full; 0: not known
	Used         int // vials tested with it, over all trials
	Note         string
	Retired      bool // used up or thrown away
	Made         Stamp
}

// NeedEntry is a need kept on the bench.
type NeedEntry struct {
	ID      int64
	Scale   unit.Scale
	Need    Need
	Retired bool
	Made    Stamp
}
