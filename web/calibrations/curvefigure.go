package calibrations

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"knownwater/chart"
	"knownwater/science/curve"
	"knownwater/web/render"
	"knownwater/wording"
)

func (p *curvePage) figure(i int, seg curve.Segment, rows []backRow, seen []chart.Seen) template.HTML {
	top := seg.Top
	for _, s := range seen {
		top = math.Max(top, s.Level)
	}
	top *= 1.03
	c := chart.Curve{ID: fmt.Sprintf("curve-%d", i), From: seg.Range.LevelLow, To: seg.Range.LevelHigh, Signals: seen,
		Title: p.in.Say("{1} from {2} to {3} {4}, and every known read back", string(seg.Shape), render.Number(seg.Range.LevelLow), render.Number(seg.Range.LevelHigh), p.Unit), Desc: p.in.Say("The table below says the same in numbers."),
		Across: p.in.Say("known, {1}", p.Unit), Up: p.SignalName, Error: p.in.Say("read back minus known, {1}", p.Unit)}
	if seg.Dilution != 1 {
		c.Across = p.in.Say("known in the cell, diluted {1} times, {2}", render.Number(seg.Dilution), p.Unit)
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

func signalWords(l *wording.Language, k curve.Conversion) string {
	if k.Kind.Light() {
		return l.Say("absorbance")
	}
	if k.Kind == curve.DisplayValue {
		return l.Say("value shown")
	}
	return l.Say("signal")
}
