package curve

import (
	"slices"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// Scope is what a version of a curve holds for.
type Scope struct {
	Made       string `json:"made,omitempty"`
	Program    string `json:"version,omitempty"` // of Knownwater
	Lot        string `json:"lot,omitempty"`
	Matrix     string `json:"matrix,omitempty"`
	ValidUntil string `json:"valid_until,omitempty"`
}

// Document is a curve with everything that belongs to its version: curve.json.
type Document struct {
	Curve
	Conversion Conversion
	Scale      unit.Scale // of the levels; nothing in it where nobody said so
	Scope      Scope
	Choices    Choices
	Points     []PointBack
	Checks     []Judged
	LeftOut    []Judged
	Segments   []Segment // all of them where there are several; the first is Curve
	Joins      []Join
}

// Choices are what was asked of the fit.
type Choices struct {
	Shape       string  `json:"shape"`
	Weights     string  `json:"weights"`
	ThroughZero bool    `json:"through_zero"`
	Shared      float64 `json:"u_stock"`
}

// Make fits, judges and puts together a document from converted points.
func Make(points []Point, o Options, k Conversion, s Scope, need *knownwater.Need) (Document, error) {
	segments, err := Fits(points, o)
	if err != nil {
		return Document{}, err
	}
	d := Document{Curve: segments[0].Curve, Conversion: k, Scope: s, Choices: Choices{
		Shape: orAuto(string(o.Shape)), Weights: orAuto(string(o.Weights)), ThroughZero: o.ThroughZero, Shared: o.Shared}}
	if len(segments) > 1 {
		d.Segments, d.Joins = segments, Joins(segments, points, o)
		for _, seg := range segments[1:] {
			for _, n := range seg.Notes[:len(seg.Notes)-1] { // the last speaks of R² again
				d.Notes = append(d.Notes, note.New("at-dilution").Number("dilution", seg.Dilution).Since(n))
			}
		}
	}
	for _, seg := range segments {
		var own []Point
		for _, p := range points {
			if p.Dilution == seg.Dilution {
				own = append(own, p)
			}
		}
		d.Checks = append(d.Checks, seg.Checks(own, need)...)
		if len(d.Checks) == 0 && len(own) <= mostLeftOut {
			fitted := slices.DeleteFunc(own, func(p Point) bool { return p.Cell() > seg.Top })
			d.LeftOut = append(d.LeftOut, LeftOut(fitted, o, seg.Shape, need)...)
		}
	}
	if len(d.Checks) > 0 {
		d.LeftOut = nil
	}
	for _, p := range points {
		d.Points = append(d.Points, d.OfDilution(p.Dilution).PointsBack([]Point{p})...)
	}
	return d, nil
}

// On is the document with the scale of its levels; where nobody said what that is, the
// first note says so.
func (d Document) On(s unit.Scale) Document {
	d.Scale = s
	if s.Unit == "" {
		d.Notes = append([]note.Note{note.New("unit-of-levels-unstated")}, d.Notes...)
	}
	return d
}

// mostLeftOut keeps leaving out from taking minutes on very long files.
const mostLeftOut = 2000

func orAuto(s string) string {
	if s == "" {
		return "auto"
	}
	return s
}

// OfDilution is the curve of a dilution; the first where there is none of its own.
func (d Document) OfDilution(dilution float64) Curve {
	for _, s := range d.Segments {
		if s.Dilution == dilution {
			return s.Curve
		}
	}
	return d.Curve
}

// Read turns a sample round, through the segment of its dilution where one was
// fitted: the knowns then went through the same dilution, so that its
// uncertainty is in the curve already. Signals are as the instrument gave them.
func (d Document) Read(s Sample) (Result, *knownwater.Fault) {
	s, c, f := d.prepared(s)
	if f != nil {
		return Result{}, f
	}
	return c.Read(s), nil
}

// prepared is a sample with its signals converted, and the curve that reads it.
func (d Document) prepared(s Sample) (Sample, Curve, *knownwater.Fault) {
	if len(s.Own) > 0 && !d.Conversion.Kind.Light() {
		return s, d.Curve, &knownwater.Fault{Column: "own_colour", Found: "a colour of its own beside signals that are no absorbances", Want: "signals of light: only absorbances add up"}
	}
	if len(s.Own) == 0 && len(s.Clear) > 0 {
		return s, d.Curve, &knownwater.Fault{Column: "clear", Found: "clear water without the sample's own colour", Want: "the sample without the reagent (own colour) too"}
	}
	for _, of := range []struct {
		column  string
		signals *[]float64
	}{{"signals", &s.Signals}, {"own_colour", &s.Own}, {"clear", &s.Clear}} {
		converted := make([]float64, len(*of.signals))
		for i, v := range *of.signals {
			y, f := d.Conversion.Of(v)
			if f != nil {
				f.Column = of.column
				return s, d.Curve, f
			}
			converted[i] = y
		}
		*of.signals = converted
	}
	seen := make([]interval.Interval, len(s.Seen))
	for i, v := range s.Seen {
		y, f := d.Conversion.Between(v)
		if f != nil {
			f.Column = "signals"
			return s, d.Curve, f
		}
		seen[i] = y
	}
	s.Seen = seen
	return s, d.OfDilution(s.Dilution), nil
}
