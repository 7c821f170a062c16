package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// curveCmd turns signals into concentrations by a curve of one's own. File
// formats: docs/formats.md and docs/formats-curves.md.
type curveCmd struct {
	Fit       curveFitCmd       `cmd:"" help:"Fit a curve to signals of known water, and judge it by knowns it was not fitted to."`
	Read      curveReadCmd      `cmd:"" help:"Turn signals of one water round through a curve."`
	Scan      curveScanCmd      `cmd:"" help:"Choose the wavelength from spectra of a blank and knowns."`
	Table     curveTableCmd     `cmd:"" help:"Hand a curve over to an instrument, in its digits, with a check sheet."`
	Matrix    curveMatrixCmd    `cmd:"" help:"Say whether another water changes the slope, the blank or both."`
	Additions curveAdditionsCmd `cmd:"" help:"Say what a water holds from its signals after known additions."`
	Compare   curveCompareCmd   `cmd:"" help:"Hold a new curve against the old over the range that both have."`
	Recheck   curveRecheckCmd   `cmd:"" help:"Say from a blank and a known whether a curve still holds, or a slope update is enough."`
}

// curveFitCmd fits.
type curveFitCmd struct {
	Points      []string `arg:"" help:"points.csv or .xlsx: level, signal, and if known u_level, role, session, replicate, dilution. Several CSV files with one header are one table." type:"file"`
	Degree      string   `help:"1, 2 or 3: line, quadratic or cubic; auto chooses among all shapes." enum:"1,2,3,auto" default:"auto"`
	Shape       string   `help:"A shape by name: ${enum}." enum:"line,quadratic,cubic,saturating,stray-light,dead-zone,auto" default:"auto"`
	Weights     string   `help:"none, 1/x, 1/x2, or auto: from the scatter of replicates." enum:"none,1/x,1/x2,auto" default:"auto"`
	ThroughZero bool     `help:"Force the curve through zero. Seldom right: a blank has a signal of its own."`
	Signal      string   `help:"What the signals are: ${enum}." enum:"absorbance,transmittance,percent,counts,display,other,auto" default:"auto"`
	Dark        float64  `help:"Counts without light, for --signal counts."`
	Blank       float64  `help:"Counts with the blank in the cell, for --signal counts."`
	Path        float64  `help:"Path length of the cell, to express absorbance per unit of it; all later signals are converted alike."`
	UStock      float64  `name:"u-stock" help:"Relative standard uncertainty that all knowns share: their stock's."`
	Need        string   `help:"need.toml: the error that single results may have." type:"file"`
	Sure        bool     `help:"Fit the points as they stand although they look like a slip."`
	Lot         string   `help:"Reagent lot that the curve holds for."`
	Matrix      string   `help:"Water that the knowns were made in, such as \"salt mix, salinity 35\"."`
	Analyte     string   `help:"What the levels are of, such as nitrate."`
	Unit        string   `help:"Unit of the levels, such as mg/L; it may also stand in the header: level (mg/L NO3)."`
	Basis       string   `help:"What the levels are counted as, such as NO3."`
	ValidUntil  string   `placeholder:"DATE" help:"Last day (2026-12-31) on which to rely on the curve without a check."`
	Out         string   `help:"Write the curve to this file, for curve read." type:"file"`
	JSON        bool     `name:"json" help:"Print one JSON object."`
	replacing
}

var shapesByDegree = map[string]curve.Shape{"1": curve.Line, "2": curve.Quadratic, "3": curve.Cubic}

func (c *curveFitCmd) Run(e *env) error {
	out := c.output(e, c.Out, append(c.Points, c.Need)...)
	if err := out.check(); err != nil {
		return err
	}
	points, err := e.join(c.Points)
	if err != nil {
		return err
	}
	d, err := c.fit(e, points)
	if err != nil {
		return points.place(inCurveFile(points.Name, err))
	}
	if err := out.write(func(w io.Writer) error { return writeJSON(w, report.CurveJSON(d)) }); err != nil {
		return err
	}
	if out.toStdout() {
		return nil
	}
	if c.JSON {
		return writeJSON(e.out, report.CurveJSON(d))
	}
	return report.CurveText(e.out, d, c.Out)
}

func (c *curveFitCmd) fit(e *env, from joined) (curve.Document, error) {
	file, err := intake.Points(from.Source)
	if err != nil {
		return curve.Document{}, err
	}
	scale, err := file.Scale.With(intake.Stated{Analyte: c.Analyte, Unit: c.Unit, Basis: c.Basis})
	if err != nil {
		return curve.Document{}, nameFile(from.Name, err)
	}
	points := file.Points
	need, err := openNeed(e, c.Need, scale)
	if err != nil {
		return curve.Document{}, err
	}
	scope, err := c.scope()
	if err != nil {
		return curve.Document{}, err
	}
	k := curve.Conversion{Kind: signalKind(c.Signal, points), DarkCounts: c.Dark, BlankCounts: c.Blank, Path: c.Path}
	points, faults := k.Points(points)
	if faults != nil {
		return curve.Document{}, faults
	}
	if scale.Unit == "" {
		need = nil // nobody knows whether it is in the unit of the levels
	}
	d, err := curve.Make(points, c.options(k), k, scope, need)
	d.Notes = append(file.Notes, d.Notes...)
	return d.On(scale), err
}

func (c *curveFitCmd) options(k curve.Conversion) curve.Options {
	o := curve.Options{
		Shape: shapesByDegree[c.Degree], ThroughZero: c.ThroughZero, Shared: c.UStock, Light: k.Kind.Light(),
		Sure: c.Sure || c.Signal == "other" || c.Signal == "display",
	}
	if c.Shape != "auto" {
		o.Shape = curve.Shape(strings.ReplaceAll(c.Shape, "-", " "))
	}
	if c.Weights != "auto" {
		o.Weights = curve.Weights(c.Weights)
	}
	return o
}

func (c *curveFitCmd) scope() (curve.Scope, error) {
	if c.Degree != "auto" && c.Shape != "auto" {
		return curve.Scope{}, knownwater.Fault{Column: "--degree", Found: "a degree and a shape", Want: "one of the two"}
	}
	s := curve.Scope{Made: today().Format("2006-01-02"), Program: version, Lot: c.Lot, Matrix: c.Matrix, ValidUntil: c.ValidUntil}
	if c.ValidUntil != "" {
		if _, err := time.Parse("2006-01-02", c.ValidUntil); err != nil {
			return s, knownwater.Fault{Column: "--valid-until", Found: c.ValidUntil, Want: "a day such as 2026-12-31"}
		}
	}
	if !(c.UStock >= 0 && c.UStock < 0.5) {
		return s, knownwater.Fault{Column: "--u-stock", Found: fmt.Sprint(c.UStock), Want: "a relative standard uncertainty such as 0.003 for 0.3 %"}
	}
	return s, nil
}

// mostAbsorbance is above what photometers show: a signal beyond it is none.
const mostAbsorbance = 5

// signalKind takes small rising signals for absorbances unless told otherwise.
func signalKind(said string, points []curve.Point) curve.Signal {
	if said != "auto" {
		return curve.Signal(said)
	}
	for _, p := range points {
		if p.Signal > mostAbsorbance || p.Signal < -1 {
			return curve.Other
		}
	}
	return curve.Absorbance
}

// openPoints reads points.csv into the points of a curve.
func openPoints(e *env, path string) (intake.PointsFile, error) {
	source, err := e.source(path)
	if err != nil {
		return intake.PointsFile{}, err
	}
	return intake.Points(source)
}

func openNeed(e *env, path string, of unit.Scale) (*knownwater.Need, error) {
	if path == "" {
		return nil, nil
	}
	source, err := e.source(path)
	if err != nil {
		return nil, err
	}
	needs, err := intake.Needs(source)
	if err != nil {
		return nil, err
	}
	if needs, err = knownwater.NeedsOf(needs, of); err != nil {
		return nil, nameFile(path, err)
	}
	if len(needs) != 1 {
		return nil, knownwater.Fault{File: path, Found: "%d needs", Want: "one, to judge the curve by"}.Of(len(needs))
	}
	return &needs[0], nil
}

// inCurveFile names the file in faults that came from its points.
func inCurveFile(path string, err error) error {
	var faults knownwater.Faults
	if errors.As(err, &faults) {
		named := append(knownwater.Faults(nil), faults...)
		for i := range named {
			if named[i].File == "" && !strings.HasPrefix(named[i].Column, "--") {
				named[i].File = path
			}
		}
		return named
	}
	return err
}

// curveReadCmd reads a sample back.
type curveReadCmd struct {
	Curve     string    `arg:"" help:"curve.json, as curve fit --out wrote it." type:"file"`
	Signal    []string  `required:"" sep:"none" help:"A signal of the sample, as the instrument gives it, or an interval such as 9.0..9.2; several are replicates."`
	OwnColour []float64 `name:"own-colour" sep:"none" help:"Signal of the same water without the reagent that makes the colour, if the water has a colour of its own."`
	Clear     []float64 `sep:"none" help:"Signal of clear water without that reagent, if the instrument's zero was set with anything else."`
	Dilution  float64   `help:"Factor that the reading is multiplied by: 8 for 1 part sample and 7 parts water." default:"1"`
	UDilution float64   `name:"u-dilution" help:"Relative standard uncertainty of that factor."`
	ULot      float64   `name:"u-lot" help:"Relative standard uncertainty between the reagent lot now and the curve's."`
	JSON      bool      `name:"json" help:"Print one JSON object."`
}

func (c *curveReadCmd) Run(e *env) error {
	d, err := openCurve(e, c.Curve)
	if err != nil {
		return err
	}
	if err := c.check(); err != nil {
		return err
	}
	s, err := signals(c.Signal)
	if err != nil {
		return err
	}
	r, fault := d.Read(curve.Sample{Signals: s.Signals, Seen: s.Seen, Own: c.OwnColour, Clear: c.Clear, Dilution: c.Dilution, UDilution: c.UDilution, ULot: c.ULot})
	if fault != nil {
		return inFlag(*fault)
	}
	r.Notes = append(r.Notes, expired(d.Scope, today())...)
	if c.JSON {
		return writeJSON(e.out, report.SignalJSON(d.Scale, r))
	}
	return report.SignalText(e.out, d.Scale, r)
}

func (c *curveReadCmd) check() error {
	var faults knownwater.Faults
	if !(c.Dilution > 0 && c.Dilution <= 1e6) {
		faults = append(faults, knownwater.Fault{Column: "--dilution", Found: fmt.Sprint(c.Dilution), Want: "a factor above 0, such as 8"})
	}
	for _, of := range []struct {
		flag string
		u    float64
	}{{"--u-dilution", c.UDilution}, {"--u-lot", c.ULot}} {
		if !(of.u >= 0 && of.u < 1) {
			faults = append(faults, knownwater.Fault{Column: of.flag, Found: fmt.Sprint(of.u), Want: "a relative standard uncertainty from 0 to below 1, such as 0.004"})
		}
	}
	for _, of := range []struct {
		flag    string
		signals []float64
	}{{"--own-colour", c.OwnColour}, {"--clear", c.Clear}} {
		for _, v := range of.signals {
			if v != v || v-v != 0 || v > 1e100 || v < -1e100 {
				faults = append(faults, knownwater.Fault{Column: of.flag, Found: fmt.Sprint(v), Want: "a number"})
			}
		}
	}
	if faults != nil {
		return faults
	}
	return nil
}

// signals understands what was typed: plain numbers, or intervals as soon as one of
// them is one.
func signals(texts []string) (s curve.Sample, err error) {
	var faults knownwater.Faults
	plain := true
	for _, text := range texts {
		t, err := reading.Parse(text)
		if err == nil && t.Drops {
			err = knownwater.Fault{Found: "%s counts drops", Want: "a signal such as 0.0714, or an interval such as 9.0..9.2"}.Of(reading.Quote(text))
		}
		var f knownwater.Fault
		if errors.As(err, &f) {
			f.Column = "--signal"
			faults = append(faults, f)
			continue
		}
		plain = plain && t.Form == reading.Value
		s.Signals = append(s.Signals, t.Low)
		s.Seen = append(s.Seen, t.Plain())
	}
	if faults != nil {
		return s, faults
	}
	if plain {
		s.Seen = nil
	} else {
		s.Signals = nil
	}
	return s, nil
}

// inFlag puts a fault of a signal beside the flag that it came by: "signals" is
// --signal, given again for each.
func inFlag(f knownwater.Fault) knownwater.Fault {
	f.Column = "--" + strings.ReplaceAll(strings.TrimSuffix(f.Column, "s"), "_", "-")
	return f
}

func openCurve(e *env, path string) (curve.Document, error) {
	source, err := e.source(path)
	if err != nil {
		return curve.Document{}, err
	}
	d, err := curve.Open(source.Data)
	var f knownwater.Fault
	if errors.As(err, &f) {
		f.File = path
		return d, f
	}
	return d, err
}

// expired doubts a curve whose last day is over.
func expired(s curve.Scope, now time.Time) []note.Note {
	if s.ValidUntil != "" && now.Format("2006-01-02") > s.ValidUntil {
		return []note.Note{note.New("curve-past-its-day").Name("day", s.ValidUntil)}
	}
	return nil
}
