package history

import (
	"math"

	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/curve"
	"knownwater/science/num"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// curved is a version of a calibration curve as a source: the lot that it was made with reads what it
// should, as its knowns say.
type curved struct {
	name string
	doc  curve.Document
	rel  float64
	gone []curve.Point
}

// OfCurve is a version of a curve under the name that the log calls it by. rel is the relative standard uncertainty of dilutions
// and lots that somebody stated, taken for the same in all samples; gone are points on its knowns that
// were left out of the fit. Not ok: nobody says in which unit its knowns
// stand, or nothing is known of how signals scatter.
func OfCurve(name string, doc curve.Document, rel float64, gone []curve.Point) (Source, bool) {
	c := curved{name, doc, rel, gone}
	_, ok := c.drawn(1)
	return c, ok && doc.Scale.Unit != ""
}

// drawn is the curve in draws: what versions have of the same points and knowns is in both the same.
func (c curved) drawn(dilution float64) (curve.Drawn, bool) {
	return c.doc.Draw(dilution, c.rel, draws, c.name, c.gone)
}

// Read turns signals round, with what the lot reads of what it should taken off.
func (c curved) Read(q result.Question) (result.Outcome, error) {
	o, err := c.doc.Answer(q)
	if err != nil || !(q.Yield > 0) || q.Yield == 1 && q.UYield == 0 {
		return o, err
	}
	r := &o.Result
	r.Estimate, r.U = r.Estimate/q.Yield, math.Hypot(r.U, r.Estimate*q.UYield)/q.Yield
	doubt := func(end float64) float64 { return num.Z95 * q.UYield * end }
	if away := r.Estimate*q.Yield - r.Low; away > 0 {
		r.Low = math.Max(0, r.Estimate-math.Hypot(away, doubt(r.Estimate*q.Yield))/q.Yield)
	} else {
		r.Low /= q.Yield * math.Exp(num.Z95*q.UYield)
	}
	if away := r.High - r.Estimate*q.Yield; away > 0 {
		r.High = r.Estimate + math.Hypot(away, doubt(r.Estimate*q.Yield))/q.Yield
	} else {
		r.High /= q.Yield * math.Exp(-num.Z95*q.UYield)
	}
	return o, nil
}

// Expect is how a signal of a known should read.
func (c curved) Expect(known, u float64, _, _ string, dilution float64) (e assess.Expected, ok bool) {
	d, ok := c.drawn(dilution)
	if !ok || known > d.Grid[len(d.Grid)-1] {
		return e, false
	}
	e.Dilution, e.Lots = dilution, c.TriedLots()
	for k, z := range ownNormals("known", known) {
		mean, sd := d.At(k, known+u*z)
		e.Draws = append(e.Draws, control.Normal{Mean: mean, SD: sd})
		step := 0.001 * (d.Grid[len(d.Grid)-1] - d.Grid[0])
		up, _ := d.At(k, known+u*z+step)
		e.Slope += (up - mean) / step / draws
	}
	return e, true
}

// Way is how signals become concentrations.
func (c curved) Way(_, _ string, dilution float64) *assess.Way {
	d, ok := c.drawn(dilution)
	if !ok { // of another dilution than that which OfCurve looked at
		d, _ = c.drawn(1)
	}
	return assess.WayOf(d.Grid, d.Means, d.SDs)
}

// TriedLots is the lot that the curve was made with.
func (c curved) TriedLots() []string {
	if c.doc.Scope.Lot == "" {
		return nil
	}
	return []string{c.doc.Scope.Lot}
}

// TriedReaders are not known of a curve.
func (c curved) TriedReaders() []string { return nil }

// ToldReaders are none.
func (c curved) ToldReaders() []string { return nil }

// NitritePart is not known of a curve.
func (c curved) NitritePart(_, _ float64) (reads, byNitrite, byFactor float64, ok bool) {
	return 0, 0, 0, false
}

// Unit is that of its knowns.
func (c curved) Unit() unit.Scale { return c.doc.Scale }

// DilutesFrom is 0: a curve has no sheet.
func (c curved) DilutesFrom() (from, least float64) { return 0, 0 }
