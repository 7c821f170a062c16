package curve

import (
	"fmt"
	"math"

	"knownwater"
	"knownwater/science/interval"
)

// Signal says what the numbers of a file are, so that they become absorbances
// once, and only once.
type Signal string

// The kinds of signal.
const (
	Absorbance    Signal = "absorbance"    // as it stands; stray light may bend it
	Transmittance Signal = "transmittance" // T, 1 at the blank: A = −log10 T
	Percent       Signal = "percent"       // 100·T
	Counts        Signal = "counts"        // light counts: A = −log10((signal − dark)/(blank − dark))
	DisplayValue  Signal = "display"       // the reading of another program, as it stands
	Other         Signal = "other"         // anything else, as it stands
)

// Light says whether the signal is an absorbance once it is converted.
func (s Signal) Light() bool { return s != DisplayValue && s != Other }

// Conversion turns what an instrument gave into the signal that is fitted.
type Conversion struct {
	Kind        Signal  `json:"kind"`
	DarkCounts  float64 `json:"dark,omitempty"`  // counts without light
	BlankCounts float64 `json:"blank,omitempty"` // counts with the blank in the cell
	Path        float64 `json:"path,omitempty"`  // path length of the cell; the signal is divided by it. 0 means: as it stands
}

// Of converts one value; the fault says what it should have been.
func (k Conversion) Of(v float64) (float64, *knownwater.Fault) {
	a := v
	switch k.Kind {
	case Transmittance, Percent:
		t := v
		if k.Kind == Percent {
			t /= 100
		}
		if !(t > 0) || t > 1.5 {
			return math.NaN(), new(knownwater.Fault{Column: "signal", Found: "%.6g is no transmittance (%s)", Want: "above 0 and, but for noise at the blank, at most 1, or 100 in percent"}.Of(v, k.Kind))
		}
		a = -math.Log10(t)
	case Counts:
		t := (v - k.DarkCounts) / (k.BlankCounts - k.DarkCounts)
		if !(t > 0) {
			return math.NaN(), new(knownwater.Fault{Column: "signal", Found: "%.6g counts are not above the dark %.6g", Want: "more light than in the dark: such a vial lets no light through; dilute it"}.Of(v, k.DarkCounts))
		}
		a = -math.Log10(t)
	}
	if k.Path > 0 {
		a /= k.Path
	}
	return a, nil
}

// Between converts what lies between two values; an open end stays open, on the other
// side where more light is less absorbance.
func (k Conversion) Between(v interval.Interval) (interval.Interval, *knownwater.Fault) {
	ends := [2]float64{v.Low, v.High}
	falls := k.Kind == Transmittance || k.Kind == Percent || k.Kind == Counts
	for i, end := range ends {
		if math.IsInf(end, 0) {
			if falls {
				ends[i] = -end
			}
			continue
		}
		var f *knownwater.Fault
		if ends[i], f = k.Of(end); f != nil {
			return v, f
		}
	}
	return interval.Interval{Low: math.Min(ends[0], ends[1]), High: math.Max(ends[0], ends[1])}, nil
}

// Unsure converts a value with its standard uncertainty: half of what lies between
// the value less and more its u. Column of a fault: zero or u_zero.
func (k Conversion) Unsure(v, u float64) (a, ua float64, f *knownwater.Fault) {
	if a, f = k.Of(v); f != nil {
		f.Column = "zero"
		return a, math.NaN(), f
	}
	low, bad := k.Of(v - u)
	high, worse := k.Of(v + u)
	if !(u >= 0) || bad != nil || worse != nil {
		return a, math.NaN(), &knownwater.Fault{Column: "u_zero", Found: fmt.Sprintf("%.6g", u), Want: "0 or more, and smaller than the signal that it belongs to"}
	}
	return a, math.Abs(high-low) / 2, nil
}

// Valid says whether a conversion can be done at all.
func (k Conversion) Valid() *knownwater.Fault {
	switch {
	case k.Kind == Counts && !(k.BlankCounts > k.DarkCounts):
		return new(knownwater.Fault{Column: "--blank", Found: "%.6g counts with the blank, %.6g in the dark", Want: "both, the blank the brighter"}.Of(k.BlankCounts, k.DarkCounts))
	case k.Kind != Counts && (k.BlankCounts != 0 || k.DarkCounts != 0):
		return &knownwater.Fault{Column: "--blank", Found: "a blank or dark value for signals that are no counts", Want: "--signal counts; the blank of other signals is a point at level 0 and is corrected by the curve's own intercept, once"}
	case k.Path < 0:
		return &knownwater.Fault{Column: "--path", Found: fmt.Sprint(k.Path), Want: "a length above 0"}
	}
	return nil
}

// Points converts the signals of points, or lists every one that cannot be.
func (k Conversion) Points(points []Point) ([]Point, knownwater.Faults) {
	if f := k.Valid(); f != nil {
		return nil, knownwater.Faults{*f}
	}
	var faults knownwater.Faults
	out := append([]Point(nil), points...)
	for i := range out {
		v, f := k.Of(out[i].Signal)
		if f != nil {
			f.Row = out[i].Row
			faults = append(faults, *f)
		}
		out[i].Signal = v
	}
	return out, faults
}
