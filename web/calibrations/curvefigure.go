package calibrations

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"knownwater/chart"
	"knownwater/science/curve"
	"knownwater/web/render"
)

func (p *curvePage) figure(i int, seg curve.Segment, rows []backRow, seen []chart.Seen) template.HTML {
	top := seg.Top
	for _, s := range seen {
		top = math.Max(top, s.Level)
	}
	top *= 1.03
	c := chart.Curve{ID: fmt.Sprintf("curve-%d", i), From: seg.Range.LevelLow, To: seg.Range.LevelHigh, Signals: seen,
		Title: fmt.Sprintf("%s from %s to %s %s, and every known read back", seg.Shape, render.Number(seg.Range.LevelLow), render.Number(seg.Range.LevelHigh), p.Unit), Desc: "The table below says the same in numbers.",
		Across: "known, " + p.Unit, Up: p.SignalName, Error: "read back minus known, " + p.Unit}
	if seg.Dilution != 1 {
		c.Across = fmt.Sprintf("known in the cell, diluted %s times, %s", render.Number(seg.Dilution), p.Unit)
	}
	for k := range 61 {
		c.At = append(c.At, top*float64(k)/60)
	}
	c.At = append(c.At, c.From, c.To) // so that the curve turns dashed where the range ends
	slices.Sort(c.At)
	for _, x := range c.At {
		c.Signal = append(c.Signal, seg.At(x))
		if p.Curve.Spec.Need != nil {
			c.Permitted = append(c.Permitted, p.Curve.Spec.Need.PermittedAt(x*seg.Dilution)/seg.Dilution)
		}
	}
	c.Test, c.Own = bands(seg.Curve)
	for _, r := range rows {
		d := seg.Dilution
		c.Back = append(c.Back, chart.Back{Level: r.Level / d, Low: r.Low / d, High: r.High / d, Mid: r.Error / d, Use: r.Use})
		if r.Use != chart.Fitted {
			c.Tags = append(c.Tags, chart.Tag{Level: r.Level / d, Signal: r.Signal, Text: r.Used() + ", " + render.Number(r.Level), Use: r.Use})
		}
	}
	return template.HTML(c.SVG())
}

// bands are the curve’s intervals as a figure draws them.
func bands(c curve.Curve) (test, own chart.Band) {
	for _, b := range c.Spans() {
		test.At, test.Low, test.High = append(test.At, b.Level), append(test.Low, b.Low), append(test.High, b.High)
		own.Low, own.High = append(own.Low, b.OwnLow), append(own.High, b.OwnHigh)
	}
	own.At = test.At
	return test, own
}

func signalWords(k curve.Conversion) string {
	if k.Kind.Light() {
		return "absorbance"
	}
	if k.Kind == curve.DisplayValue {
		return "value shown"
	}
	return "signal"
}
