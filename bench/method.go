package bench

import (
	"context"

	"knownwater"
	"knownwater/science/plan"
	"knownwater/science/unit"
)

// MethodSpec describes a method: what a person types into its form.
type MethodSpec struct {
	Name     string          `json:"name"`
	Kind     knownwater.Kind `json:"kind"`
	Scale    unit.Scale      `json:"scale"` // what the method's own numbers mean
	Swatches []Swatch        `json:"swatches,omitempty"`
	AtShare  float64         `json:"at_share,omitempty"` // chart; 0: knownwater.DefaultAtShare

	Resolution float64  `json:"resolution,omitempty"` // display, absorbance, photo
	DropValue  float64  `json:"drop_value,omitempty"` // drops
	RangeLow   *float64 `json:"range_low,omitempty"`  // display: both or neither
	RangeHigh  *float64 `json:"range_high,omitempty"`

	Steps    []plan.Step `json:"steps,omitempty"` // in order; the last one is the reading
	Dilution Dilution    `json:"dilution"`

	PackPrice      float64 `json:"pack_price,omitempty"`
	PackTests      int     `json:"pack_tests,omitempty"`
	RefillPrice    float64 `json:"refill_price,omitempty"`
	RefillTests    int     `json:"refill_tests,omitempty"`
	Minutes        float64 `json:"minutes,omitempty"`          // start to reading
	HandsOnMinutes float64 `json:"hands_on_minutes,omitempty"` // of those, with hands on it

	Note    string `json:"note,omitempty"`
	Caution string `json:"caution,omitempty"` // shown wherever the reagents are handled
}

// Swatch is one colour of a chart. The colour is only a reminder of order on
// the reading pad: nobody matches on a screen.
type Swatch struct {
	Value  float64 `json:"value"`
	Colour string  `json:"colour,omitempty"` // #rrggbb, the user's own
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

// Method is one version of a method. A version never changes: saving a changed
// description makes the next one.
type Method struct {
	ID        int64 // of the method, whatever the version
	VersionID int64 // of this version: what trials and vials name
	Version   int   // 1, 2, 3 …
	Latest    bool
	Retired   bool
	Spec      MethodSpec
	Why       string // why this version was made
	Made      Stamp
	Trials    int // sealed trials that use this version
	Readings  int // readings taken with this version
	TestsLeft int // over all lots; -1 where no lot says how many tests it holds
}

// Noun is the method as the science packages know it.
func (s MethodSpec) Noun() knownwater.Method { return knownwater.Method{} }

// Check returns every fault of a description, with the form field in Column.
func (s MethodSpec) Check() knownwater.Faults { return nil }

// SaveMethod makes a new method (id 0) or the next version of one; an unchanged
// description makes nothing new. From the second version on it needs a why.
// Owner.
func (b *Bench) SaveMethod(ctx context.Context, by Who, id int64, s MethodSpec, why string) (Method, error) {
	return Method{}, errNotYet
}

// RetireMethod takes a method off the lists for new plans, or puts it back.
// Owner.
func (b *Bench) RetireMethod(ctx context.Context, by Who, id int64, retired bool) error {
	return errNotYet
}

// Methods are the latest versions, by name; retired ones last.
func (b *Bench) Methods(ctx context.Context) ([]Method, error) { return nil, errNotYet }

// Method is the latest version of a method.
func (b *Bench) Method(ctx context.Context, id int64) (Method, error) { return Method{}, errNotYet }

// MethodVersion is a certain version, by its VersionID.
func (b *Bench) MethodVersion(ctx context.Context, versionID int64) (Method, error) {
	return Method{}, errNotYet
}

// MethodVersions are all versions of a method, newest first.
func (b *Bench) MethodVersions(ctx context.Context, id int64) ([]Method, error) {
	return nil, errNotYet
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

// SaveLot adds a lot (ID 0) or mends its particulars; every change is recorded.
// Used and Made are ignored. Owner.
func (b *Bench) SaveLot(ctx context.Context, by Who, l Lot) (Lot, error) { return Lot{}, errNotYet }

// Lots are a method's lots, those in use first, newest first.
func (b *Bench) Lots(ctx context.Context, methodID int64) ([]Lot, error) { return nil, errNotYet }

// NeedEntry is a need kept on the bench.
type NeedEntry struct {
	ID      int64
	Scale   unit.Scale
	Need    knownwater.Need
	Retired bool
	Made    Stamp
}

// SaveNeed adds a need (ID 0) or changes it. Sealed trials keep the need as it
// was when they were sealed. Owner.
func (b *Bench) SaveNeed(ctx context.Context, by Who, n NeedEntry) (NeedEntry, error) {
	return NeedEntry{}, errNotYet
}

// Needs are all needs, by name; retired ones last.
func (b *Bench) Needs(ctx context.Context) ([]NeedEntry, error) { return nil, errNotYet }

// Need is one need.
func (b *Bench) Need(ctx context.Context, id int64) (NeedEntry, error) {
	return NeedEntry{}, errNotYet
}
