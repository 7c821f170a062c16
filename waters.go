package knownwater

import (
	"math"
	"time"
)

// WaterKind is what a water is.
type WaterKind string

// The kinds of waters.
const (
	Tank     WaterKind = "tank"
	Customer WaterKind = "customer" // somebody else's, brought in
	Batch    WaterKind = "batch"    // of salt water, mixed
)

// WaterSpec describes a body of water that is tested again and again.
type WaterSpec struct {
	Name   string    `json:"name"`
	Kind   WaterKind `json:"kind"`
	Litres float64   `json:"litres,omitempty"` // net; 0: not known
	Needs  []int64   `json:"needs,omitempty"`  // NeedEntry.ID: what it is to be
	Note   string    `json:"note,omitempty"`
}

// Water is one version of a water.
type Water struct{ Versioned[WaterSpec] }

// SampleRole is why a vial was tested.
type SampleRole string

// The roles of samples.
const (
	Routine   SampleRole = "routine"
	Checked   SampleRole = "check"     // known water among the samples
	Duplicate SampleRole = "duplicate" // the same sample once more
	Blanked   SampleRole = "blank"     // without the reagent, or of pure water
	Spiked    SampleRole = "spike"     // with a known amount added
)

// Sample is what a result is of.
type Sample struct {
	ID     int64
	Water  int64 // 0: known water
	Role   SampleRole
	Known  float64 // of a check
	UKnown float64 // its standard uncertainty
	SampleSpec
}

// SampleSpec is what is said of how a sample was taken. Nothing that was not said is a number.
type SampleSpec struct {
	Filtered    string   `json:"filtered,omitempty"` // "yes", "no"; empty: not said
	Temperature *float64 `json:"temperature_c,omitempty"`
	Salinity    *float64 `json:"salinity,omitempty"`
	Spike       *float64 `json:"spike,omitempty"`      // what was added, as a concentration in the sample
	HoursKept   *float64 `json:"hours_kept,omitempty"` // from taking to testing, as somebody said
	// SampledAt is when it was taken from its water; nil: not said.
	SampledAt *time.Time `json:"sampled_at,omitempty"`
	Vial      string     `json:"vial,omitempty"` // code of a blind vial, known or not
}

// Stood is how many hours a sample stood that was tested at a time: those that somebody said,
// else from when it was taken, to a tenth; 0 where neither is said.
func (s SampleSpec) Stood(tested time.Time) float64 {
	switch {
	case s.HoursKept != nil:
		return *s.HoursKept
	case s.SampledAt != nil:
		return math.Round(10*tested.Sub(*s.SampledAt).Hours()) / 10
	}
	return 0
}

// Ruling is what somebody said became of a result that waited for a check.
type Ruling string

// A result stands or is left out; empty: nobody said.
const (
	ResultStands  Ruling = "stands"
	ResultLeftOut Ruling = "left out"
)
