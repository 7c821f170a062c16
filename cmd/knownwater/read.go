package main

import (
	"bytes"
	"errors"
	"fmt"

	"knownwater"
	"knownwater/intake"
	"knownwater/logged"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/curve"
	"knownwater/science/result"
)

// readCmd says what readings of one sample tell.
type readCmd struct {
	File      string   `arg:"" help:"A trial's report.html, a curve.json that curve fit --out wrote, or a counter card's card.json." type:"file"`
	Method    string   `help:"The method that was read, where the report has several."`
	Matrix    string   `help:"The water that the knowns were made in, where the method was tried in several."`
	Reading   []string `required:"" sep:"none" help:"A reading as it was seen: 10, 6..15, <0.5, >50, 7d; several are readings of one sample."`
	Dilution  float64  `help:"Factor that the reading is multiplied by: 8 for 1 part sample and 7 parts water." default:"1"`
	UDilution float64  `name:"u-dilution" help:"Relative standard uncertainty of that factor."`
	Reader    []string `sep:"none" help:"Who read: one for all readings, or one for each in their order."`
	Nitrite   *float64 `help:"Nitrite of the sample, mg/L NO2: taken off by the method's factor, where its trial had knowns with nitrite."`
	UNitrite  float64  `name:"u-nitrite" help:"Standard uncertainty of that."`
	Lot       string   `help:"Lot of the reagents."`
	Need      string   `help:"need.toml: what the result is needed for." type:"file"`
	JSON      bool     `name:"json" help:"Print one JSON object."`
}

func (c *readCmd) Run(e *env) error {
	q, err := c.question(e)
	if err != nil {
		return err
	}
	source, err := e.source(c.File)
	if err != nil {
		return err
	}
	read := c.byReport
	if bytes.HasPrefix(bytes.TrimLeft(source.Data, " \t\r\n\ufeff"), []byte("{")) {
		read = c.byCurve
		if report.IsCard(source.Data) {
			read = c.byCard
		}
	}
	o, err := read(source, q)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(e.out, report.ReadingJSON(o))
	}
	return report.ReadingText(e.out, o)
}

// question is what was asked, but for the file.
func (c *readCmd) question(e *env) (result.Question, error) {
	q := result.Question{Readings: c.Reading, Lot: c.Lot, Dilution: c.Dilution, UDilution: c.UDilution}
	var faults knownwater.Faults
	if f := (knownwater.Fault{}); errors.As(q.ReadBy(c.Reader), &f) {
		f.Column = "--reader"
		faults = append(faults, f)
	}
	if !(c.Dilution > 0 && c.Dilution <= 1e6) {
		faults = append(faults, knownwater.Fault{Column: "--dilution", Found: fmt.Sprint(c.Dilution), Want: "a factor above 0, such as 8"})
	}
	if !(c.UDilution >= 0 && c.UDilution < 1) {
		faults = append(faults, knownwater.Fault{Column: "--u-dilution", Found: fmt.Sprint(c.UDilution), Want: "a relative standard uncertainty from 0 to below 1, such as 0.004"})
	}
	if c.Nitrite != nil {
		q.NitriteKnown, q.Nitrite, q.UNitrite = true, *c.Nitrite, c.UNitrite
	}
	if !(q.Nitrite >= 0 && q.Nitrite <= knownwater.MostNitrite && c.UNitrite >= 0 && c.UNitrite <= knownwater.MostNitrite) {
		faults = append(faults, knownwater.Fault{Column: "--nitrite", Found: fmt.Sprint(q.Nitrite, " ± ", c.UNitrite), Want: "mg/L NO2 from 0 up"})
	}
	if faults != nil {
		return q, faults
	}
	if c.Need == "" {
		return q, nil
	}
	source, err := e.source(c.Need)
	if err != nil {
		return q, err
	}
	q.Needs, err = intake.Needs(source)
	return q, err
}

// byReport reads by the record of one method of a trial, computed again from the inputs
// that its report carries.
func (c *readCmd) byReport(file intake.Source, q result.Question) (result.Outcome, error) {
	d, err := report.Open(bytes.NewReader(file.Data))
	if err != nil {
		return result.Outcome{}, nameFile(c.File, err)
	}
	t, seed, err := logged.TrialOf(d.Inputs, d.Seed)
	if err != nil {
		return result.Outcome{}, err
	}
	if q.Needs, err = knownwater.NeedsOf(q.Needs, t.Scale); err != nil {
		return result.Outcome{}, nameFile(c.Need, err)
	}
	p, err := assess.PerformanceOf(t, c.Method, c.Matrix, assess.Options{Seed: seed, Version: version})
	if err != nil {
		return result.Outcome{}, inCurveFile(c.File, err)
	}
	return p.Read(q)
}

// byCard looks a step up on a counter card.
func (c *readCmd) byCard(file intake.Source, q result.Question) (result.Outcome, error) {
	card, err := report.OpenCard(file.Data)
	if err != nil {
		return result.Outcome{}, nameFile(c.File, err)
	}
	if c.Method != "" && c.Method != card.Method {
		return result.Outcome{}, knownwater.Fault{Column: "--method", Found: "%s", Want: "no name, or %s: the card is of that"}.Of(c.Method, card.Method)
	}
	return card.Answer(q)
}

func (c *readCmd) byCurve(file intake.Source, q result.Question) (result.Outcome, error) {
	for _, of := range []struct{ flag, value string }{{"--method", c.Method}, {"--matrix", c.Matrix}} {
		if of.value != "" {
			return result.Outcome{}, knownwater.Fault{Column: of.flag, Found: of.value, Want: "no name beside a curve: it is of one method in one water"}
		}
	}
	d, err := curve.Open(file.Data)
	if err != nil {
		return result.Outcome{}, nameFile(c.File, err)
	}
	if q.Needs, err = knownwater.NeedsOf(q.Needs, d.Scale); err != nil {
		return result.Outcome{}, nameFile(c.Need, err)
	}
	o, err := d.Answer(q)
	o.Notes = append(o.Notes, expired(d.Scope, today())...)
	return o, err
}
