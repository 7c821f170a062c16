package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/curve"
	"knownwater/science/handover"
	"knownwater/science/matrix"
	"knownwater/science/scan"
)

// curveScanCmd chooses a wavelength.
type curveScanCmd struct {
	Spectra string `arg:"" help:"spectra.csv or .xlsx: wavelength, then a column a vial, headed by its level or an interferent's name." type:"file"`
	JSON    bool   `name:"json" help:"Print one JSON object."`
}

func (c *curveScanCmd) Run(e *env) error {
	source, err := e.source(c.Spectra)
	if err != nil {
		return err
	}
	file, err := intake.Spectra(source)
	if err != nil {
		return err
	}
	chosen, err := scan.Choose(file.Spectra())
	if err != nil {
		return inCurveFile(c.Spectra, err)
	}
	chosen.Notes = append(file.Notes, chosen.Notes...)
	if c.JSON {
		return writeJSON(e.out, report.ScanJSON(chosen))
	}
	return report.ScanText(e.out, chosen)
}

// curveTableCmd hands a curve over to an instrument.
type curveTableCmd struct {
	Curve          string `arg:"" help:"curve.json" type:"file"`
	Pairs          int    `help:"Number of pairs that the instrument takes, joined by straight lines." default:"8"`
	Order          int    `help:"Instead of pairs: coefficients of level = k0 + k1·signal + …, up to this power."`
	LevelDecimals  int    `help:"Decimals of levels that the instrument takes." default:"2"`
	SignalDecimals int    `help:"Decimals of signals that the instrument takes." default:"3"`
	Digits         int    `help:"Significant digits of coefficients that it takes." default:"5"`
	JSON           bool   `name:"json" help:"Print one JSON object."`
}

func (c *curveTableCmd) Run(e *env) error {
	var faults knownwater.Faults
	for _, f := range []struct {
		flag            string
		v, least, worst int
	}{{"--pairs", c.Pairs, 2, 100}, {"--order", c.Order, 0, 6}, {"--level-decimals", c.LevelDecimals, 0, 9}, {"--signal-decimals", c.SignalDecimals, 0, 9}, {"--digits", c.Digits, 1, 15}} {
		if f.v < f.least || f.v > f.worst {
			faults = append(faults, knownwater.Fault{Column: f.flag, Found: fmt.Sprint(f.v), Want: fmt.Sprintf("%d to %d", f.least, f.worst)})
		}
	}
	if faults != nil {
		return faults
	}
	d, err := openCurve(e, c.Curve)
	if err != nil {
		return err
	}
	digits := handover.Digits{Level: c.LevelDecimals, Signal: c.SignalDecimals, Coefficient: c.Digits}
	var t handover.Table
	if c.Order > 0 {
		t, err = handover.Polynomial(d.Curve, c.Order, digits)
	} else {
		t, err = handover.Pairs(d.Curve, c.Pairs, digits)
	}
	if err != nil {
		return inCurveFile(c.Curve, err)
	}
	if c.JSON {
		return writeJSON(e.out, report.TableJSON(d, t))
	}
	return report.TableText(e.out, d, t, digits)
}

// curveMatrixCmd compares two waters.
type curveMatrixCmd struct {
	First  string  `arg:"" help:"points.csv of knowns in one water, such as pure water." type:"file"`
	Second string  `arg:"" help:"points.csv of knowns in the other, such as salt mix." type:"file"`
	Margin float64 `help:"Relative difference of slopes that is of no account." default:"0.05"`
	JSON   bool    `name:"json" help:"Print one JSON object."`
}

func (c *curveMatrixCmd) Run(e *env) error {
	if err := share("--margin", c.Margin); err != nil {
		return err
	}
	first, err := openPoints(e, c.First)
	if err != nil {
		return err
	}
	second, err := openPoints(e, c.Second)
	if err != nil {
		return err
	}
	m, err := matrix.Compare(first.Points, second.Points, curve.Options{Light: signalKind("auto", first.Points).Light()}, c.Margin)
	if err != nil {
		return inCurveFile(c.First+" and "+c.Second, err)
	}
	if c.JSON {
		return writeJSON(e.out, report.MatrixJSON(m))
	}
	fmt.Fprintln(e.out, report.MatrixWords(m))
	report.NotesText(e.out, report.WordsAll(m.Notes))
	return nil
}

func share(flag string, v float64) error {
	if !(v > 0 && v < 1) {
		return knownwater.Fault{Column: flag, Found: fmt.Sprint(v), Want: "a share between 0 and 1, such as 0.05"}
	}
	return nil
}

// curveAdditionsCmd is the method of standard additions.
type curveAdditionsCmd struct {
	Points string   `arg:"" help:"points.csv whose level column says what was ADDED to the water (0: nothing)." type:"file"`
	Zero   *float64 `help:"Signal of pure water with reagent, as the instrument gives it; absent: the curve's, else none."`
	UZero  float64  `name:"u-zero" help:"Its standard uncertainty; 0: not known."`
	Curve  string   `help:"curve.json of the method, made in whatever water: the additions are read by its shape, and its slope is compared." type:"file"`
	JSON   bool     `name:"json" help:"Print one JSON object."`
}

func (c *curveAdditionsCmd) Run(e *env) error {
	file, err := openPoints(e, c.Points)
	if err != nil {
		return err
	}
	points := file.Points
	var alike []curve.Curve
	var kind curve.Conversion
	if c.Curve != "" {
		d, err := openCurve(e, c.Curve)
		if err != nil {
			return err
		}
		if points, err = converted(d, points); err != nil {
			return inCurveFile(c.Points, err)
		}
		alike, kind = d.Alike(), d.Conversion
	}
	var zero *matrix.Zero
	if c.Zero != nil {
		y, u, fault := kind.Unsure(*c.Zero, c.UZero)
		if fault != nil {
			return inFlag(*fault)
		}
		zero = &matrix.Zero{Signal: y, U: u}
	}
	a, err := matrix.Additions(points, zero, alike)
	if err != nil {
		return inCurveFile(c.Points, err)
	}
	if c.JSON {
		return writeJSON(e.out, report.AdditionsJSON(a))
	}
	fmt.Fprintln(e.out, report.AdditionsWords(a))
	report.NotesText(e.out, report.SayAll(a.Notes))
	return nil
}

func converted(d curve.Document, points []curve.Point) ([]curve.Point, error) {
	out, faults := d.Conversion.Points(points)
	if faults != nil {
		return nil, faults
	}
	return out, nil
}

// curveCompareCmd holds a new version against the old.
type curveCompareCmd struct {
	Old  string `arg:"" help:"curve.json in use" type:"file"`
	New  string `arg:"" help:"curve.json to take its place" type:"file"`
	Need string `help:"need.toml: the error that single results may have." type:"file"`
	JSON bool   `name:"json" help:"Print one JSON object."`
}

func (c *curveCompareCmd) Run(e *env) error {
	old, err := openCurve(e, c.Old)
	if err != nil {
		return err
	}
	now, err := openCurve(e, c.New)
	if err != nil {
		return err
	}
	if old.Conversion.Kind != now.Conversion.Kind || old.Conversion.Path != now.Conversion.Path {
		return knownwater.Fault{File: c.New, Found: "its signals are %s, those of the old curve %s", Want: "two curves of the same kind of signal and path"}.Of(string(now.Conversion.Kind), string(old.Conversion.Kind))
	}
	need, err := openNeed(e, c.Need, now.Scale)
	if err != nil {
		return err
	}
	switch {
	case old.Scale.Unit == "" || now.Scale.Unit == "":
		need = nil // nobody knows whether it is in the unit of the levels
	case old.Scale != now.Scale:
		return knownwater.Fault{File: c.New, Found: "its levels are in %s, those of the old curve in %s", Want: "two curves on one scale"}.Of(now.Scale.String(), old.Scale.String())
	}
	k := old.Compare(now, need)
	if c.JSON {
		return writeJSON(e.out, report.VersionsJSON(k))
	}
	return report.VersionsText(e.out, k)
}

// curveRecheckCmd tests whether a curve still holds.
type curveRecheckCmd struct {
	Curve  string    `arg:"" help:"curve.json in use" type:"file"`
	Blank  []float64 `required:"" sep:"none" help:"A blank's signal; several are replicates."`
	Known  []string  `required:"" sep:"none" help:"A known's level and its signal: 6=0.396; the same level again is a replicate, 6±0.1=0.396 gives its u."`
	Margin float64   `help:"Relative change of slope that is of no account." default:"0.05"`
	Out    string    `help:"Write the curve with its slope updated to this file, where that is enough." type:"file"`
	JSON   bool      `name:"json" help:"Print one JSON object."`
	replacing
}

func (c *curveRecheckCmd) Run(e *env) error {
	if err := share("--margin", c.Margin); err != nil {
		return err
	}
	out := c.output(e, c.Out, c.Curve)
	if err := out.check(); err != nil {
		return err
	}
	d, err := openCurve(e, c.Curve)
	if err != nil {
		return err
	}
	blank, knowns, err := c.retests(d)
	if err != nil {
		return err
	}
	r, err := d.TwoPoint(blank, knowns, c.Margin)
	if err != nil {
		return inCurveFile(c.Curve, err)
	}
	switch {
	case c.Out == "":
	case r.Verdict == curve.Holds: // there is nothing to write, and nothing is wrong
		fmt.Fprintf(e.errOut, "knownwater: %s was not written: the curve in use holds\n", knownwater.Plain(c.Out))
		c.Out = ""
	case r.Verdict != curve.UpdateSlope:
		return knownwater.Fault{Column: "--out", Found: "no slope update to write: %s", Want: report.RecheckWords(r)}.Of(r.Verdict)
	}
	if c.Out != "" {
		d.Curve = d.WithSlope(r.Slope, r.USlope)
		d.Scope.Made, d.Scope.Program, d.Scope.ValidUntil = today().Format("2006-01-02"), version, ""
		d.Points, d.Checks, d.LeftOut = nil, nil, nil
		if len(d.Segments) > 0 {
			return knownwater.Fault{File: c.Curve, Found: "a curve of several dilutions", Want: "a new curve: a slope update of one segment would leave the others behind"}
		}
		if err := out.write(func(w io.Writer) error { return writeJSON(w, report.CurveJSON(d)) }); err != nil {
			return err
		}
	}
	if c.Out == "-" {
		return nil
	}
	if c.JSON {
		return writeJSON(e.out, report.CurveRecheckJSON(r))
	}
	fmt.Fprintln(e.out, report.RecheckWords(r))
	return nil
}

// retests turns the command line's signals into knowns, replicates together.
func (c *curveRecheckCmd) retests(d curve.Document) (blank []float64, knowns []curve.Retest, err error) {
	for _, v := range c.Blank {
		y, f := d.Conversion.Of(v)
		if f != nil {
			f.Column = "--blank"
			return nil, nil, *f
		}
		blank = append(blank, y)
	}
	for _, text := range c.Known {
		k, err := parseRetest(text)
		if err != nil {
			return nil, nil, err
		}
		y, f := d.Conversion.Of(k.Signals[0])
		if f != nil {
			f.Column = "--known"
			return nil, nil, *f
		}
		found := false
		for i := range knowns {
			if knowns[i].Level == k.Level {
				knowns[i].Signals = append(knowns[i].Signals, y)
				knowns[i].ULevel = max(knowns[i].ULevel, k.ULevel)
				found = true
			}
		}
		if !found {
			k.Signals[0] = y
			knowns = append(knowns, k)
		}
	}
	return blank, knowns, nil
}

func parseRetest(text string) (curve.Retest, error) {
	bad := knownwater.Fault{Column: "--known", Found: strconv.Quote(text), Want: "level=signal, such as 6=0.396, or 6±0.1=0.396 with the known's standard uncertainty"}
	level, signal, ok := strings.Cut(text, "=")
	if !ok {
		return curve.Retest{}, bad
	}
	level, u, hasU := strings.Cut(level, "±")
	k := curve.Retest{Signals: make([]float64, 1)}
	var errs [3]error
	k.Level, errs[0] = strconv.ParseFloat(level, 64)
	k.Signals[0], errs[1] = strconv.ParseFloat(signal, 64)
	if hasU {
		k.ULevel, errs[2] = strconv.ParseFloat(u, 64)
	}
	for _, e := range errs {
		if e != nil {
			return curve.Retest{}, bad
		}
	}
	if !(k.Level > 0 && k.Level < 1e9) || !(k.ULevel >= 0 && k.ULevel < 1e9) || !(k.Signals[0] > -1e9 && k.Signals[0] < 1e9) {
		return curve.Retest{}, bad
	}
	return k, nil
}
