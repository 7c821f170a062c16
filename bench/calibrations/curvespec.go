package calibrations

import (
	"fmt"
	"math"
	"slices"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/curve"
	"knownwater/science/response"
	"knownwater/science/unit"
)

// CurveSpec is one version of a curve: what was seen and what was decided. The
// fitted result is not among it; Fit computes that.
type CurveSpec struct {
	Name       string           `json:"name"`
	Note       string           `json:"note,omitempty"`
	Scale      unit.Scale       `json:"scale"` // of the levels
	Source     string           `json:"source,omitempty"`
	Method     string           `json:"method,omitempty"` // whose tests it turns round, as that is called
	Points     []CurvePoint     `json:"points"`
	Conversion curve.Conversion `json:"conversion"`
	Choices    CurveChoices     `json:"choices"`
	Slopes     []SlopeUpdate    `json:"slopes,omitempty"` // put on the fit, one after the other
	Need       *knownwater.Need `json:"need,omitempty"`   // that the knowns are judged by, as it was then
	Lot        string           `json:"lot,omitempty"`
	Matrix     string           `json:"matrix,omitempty"`
	ValidUntil string           `json:"valid_until,omitempty"` // 2026-12-31
	Program    string           `json:"program,omitempty"`     // version of this program that it was decided with
}

// CurvePoint is a signal on a known, as the instrument gave it.
type CurvePoint struct {
	Level     float64 `json:"level"`
	ULevel    float64 `json:"u_level,omitempty"`
	UWater    float64 `json:"u_background,omitempty"` // the part of ULevel that comes from their water's background, which all knowns share
	Signal    float64 `json:"signal"`
	Check     bool    `json:"check,omitempty"` // kept out of the fit, to judge it
	Session   string  `json:"session,omitempty"`
	Replicate string  `json:"replicate,omitempty"`
	Dilution  float64 `json:"dilution"`
	Out       string  `json:"out,omitempty"`    // why it is left out of everything
	OutBy     string  `json:"out_by,omitempty"` // who left it out
}

// CurveChoices are what was asked of the fit; empty texts leave it to the data.
type CurveChoices struct {
	Shape       string  `json:"shape,omitempty"`
	Weights     string  `json:"weights,omitempty"`
	ThroughZero bool    `json:"through_zero,omitempty"`
	UStock      float64 `json:"u_stock,omitempty"` // relative standard uncertainty that all knowns share
	Sure        bool    `json:"sure,omitempty"`    // although the points look like a slip
}

// mostCurvePoints keeps a page from taking seconds.
const mostCurvePoints = 2000

// CurveShapes and CurveWeights are what may be asked for; empty: by the data.
var (
	CurveShapes  = curveShapes()
	CurveWeights = []curve.Weights{curve.Equal, curve.OverX, curve.OverX2}
	CurveSignals = []curve.Signal{curve.Absorbance, curve.Transmittance, curve.Percent, curve.Counts, curve.DisplayValue, curve.Other}
)

func curveShapes() (names []curve.Shape) {
	for _, f := range response.All {
		names = append(names, f.Name)
	}
	return names
}

// Converted are the points that are not left out, with converted signals; Row counts
// all points from 1.
func (s CurveSpec) Converted() ([]curve.Point, knownwater.Faults) {
	var used []curve.Point
	for i, p := range s.Points {
		if p.Out == "" {
			used = append(used, p.point(i+1))
		}
	}
	return s.Conversion.Points(used)
}

// Gone are the points left out, converted as the others; those that cannot be
// are not there.
func (s CurveSpec) Gone() (out []curve.Point) {
	for i, p := range s.Points {
		if p.Out == "" {
			continue
		}
		n := p.point(i + 1)
		if y, f := s.Conversion.Of(n.Signal); f == nil {
			n.Signal = y
			out = append(out, n)
		}
	}
	return out
}

func (p CurvePoint) point(row int) curve.Point {
	return curve.Point{Level: p.Level, ULevel: p.ULevel, UBackground: p.UWater, Signal: p.Signal, Check: p.Check, Session: p.Session, Replicate: p.Replicate, Dilution: p.Dilution, Row: row}
}

// Fit computes the curve. The error holds knownwater.Faults with the points'
// numbers as rows.
func (s CurveSpec) Fit() (curve.Document, error) {
	points, fs := s.Converted()
	if len(fs) > 0 {
		return curve.Document{}, fs
	}
	k := s.Conversion.Kind
	o := curve.Options{Shape: curve.Shape(s.Choices.Shape), Weights: curve.Weights(s.Choices.Weights), ThroughZero: s.Choices.ThroughZero, Shared: s.Choices.UStock,
		Light: k.Light(), Sure: s.Choices.Sure || !k.Light()}
	scope := curve.Scope{Program: s.Program, Lot: s.Lot, Matrix: s.Matrix, ValidUntil: s.ValidUntil}
	d, err := curve.Make(points, o, s.Conversion, scope, s.Need)
	for _, u := range s.Slopes {
		if err != nil {
			break
		}
		d, err = u.on(d)
	}
	d.Scale = s.Scale
	return d, err
}

// tidied is the spec as it is kept, with what is wrong with it.
func (s CurveSpec) tidied() (CurveSpec, knownwater.Faults) {
	var fs knownwater.Faults
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	store.Line(&fs, "name", &s.Name, true)
	store.Lines(&fs, "note", &s.Note)
	for column, text := range map[string]*string{"source": &s.Source, "method": &s.Method, "lot": &s.Lot, "matrix": &s.Matrix, "program": &s.Program} {
		store.Line(&fs, column, text, false)
	}
	if s.ValidUntil != "" {
		if _, err := time.Parse(time.DateOnly, s.ValidUntil); err != nil {
			wrong("valid_until", fmt.Sprintf("%.40q", s.ValidUntil), "a day such as 2026-12-31")
		}
	}
	scale, err := unit.Parse(s.Scale.Analyte, s.Scale.Unit, s.Scale.Basis)
	if err != nil {
		wrong("unit", err.Error(), "an analyte, a unit and a basis that belong together")
	}
	s.Scale = scale
	if c := s.Choices; c.Shape != "" && !slices.Contains(CurveShapes, curve.Shape(c.Shape)) {
		wrong("shape", fmt.Sprintf("%.40q", c.Shape), "one of the shapes")
	}
	if w := s.Choices.Weights; w != "" && !slices.Contains(CurveWeights, curve.Weights(w)) {
		wrong("weights", fmt.Sprintf("%.40q", w), "none, 1/x, 1/x2 or by the scatter")
	}
	if u := s.Choices.UStock; !(u >= 0 && u < 0.5) {
		wrong("u_stock", fmt.Sprintf("%g %%", 100*u), "from 0 to below 50 %")
	}
	s.conversionFaults(wrong)
	for _, u := range s.Slopes {
		fs = append(fs, u.check()...)
	}
	if len(s.Points) == 0 {
		wrong("points", "no points", "a row for each signal on a known")
	}
	if len(s.Points) > mostCurvePoints {
		wrong("points", "%d points", "at most %d", len(s.Points), mostCurvePoints)
	}
	s.Points = slices.Clone(s.Points)
	for i := range s.Points {
		for _, f := range s.Points[i].tidy() {
			f.Row = i + 1
			fs = append(fs, f)
		}
		if len(fs) > 50 {
			break
		}
	}
	return s, fs
}

func (s CurveSpec) conversionFaults(wrong func(column, found, want string, values ...any)) {
	k := s.Conversion
	if !slices.Contains(CurveSignals, k.Kind) {
		wrong("signal", fmt.Sprintf("%.40q", k.Kind), "what the signals are")
		return
	}
	if f := k.Valid(); f != nil {
		column := map[string]string{"--blank": "blank", "--path": "path"}[f.Column]
		wrong(column, f.Found, map[string]string{"blank": "counts of both for raw counts, the blank the brighter; nothing otherwise", "path": f.Want}[column])
	}
	if !finiteAll(k.DarkCounts, k.BlankCounts, k.Path) {
		wrong("path", "a number beyond reason", "a length above 0")
	}
}

func (p *CurvePoint) tidy() (fs knownwater.Faults) {
	wrong := func(found, want string, v float64) {
		fs = append(fs, knownwater.Fault{Column: "points", Found: found, Want: want}.Of(v))
	}
	if p.Dilution == 0 {
		p.Dilution = 1
	}
	if !(p.Level >= 0) || !finiteAll(p.Level) {
		wrong("level %g", "a level from 0 up", p.Level)
	}
	if !(p.ULevel >= 0) || !finiteAll(p.ULevel) {
		wrong("u_level %g", "a standard uncertainty from 0 up", p.ULevel)
	}
	if !(p.UWater >= 0 && p.UWater <= p.ULevel*(1+1e-9)) {
		wrong("u_background %g", "a standard uncertainty from 0 up to u_level", p.UWater)
	}
	if !finiteAll(p.Signal) {
		wrong("signal %g", "a number", p.Signal)
	}
	if !(p.Dilution > 0 && p.Dilution <= 1e6) {
		wrong("dilution %g", "a factor above 0", p.Dilution)
	}
	store.Line(&fs, "points", &p.Session, false)
	store.Line(&fs, "points", &p.Replicate, false)
	store.Line(&fs, "points", &p.OutBy, false)
	store.Lines(&fs, "why", &p.Out)
	return fs
}

func finiteAll(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.Abs(v) > 1e100 {
			return false
		}
	}
	return true
}
