package curve

import (
	"errors"
	"math"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// Answer says what signals of one sample tell, as a trial's record would of its readings:
// Read, with the chances of needs from the same turn. Needs are judged where somebody
// said in what unit the knowns are. The error holds knownwater.Faults.
func (d Document) Answer(q result.Question) (result.Outcome, error) {
	if q.Dilution == 0 {
		q.Dilution = 1
	}
	s := Sample{Dilution: q.Dilution, UDilution: q.UDilution}
	var faults knownwater.Faults
	for _, text := range q.Readings {
		t, err := reading.Parse(text)
		if err == nil && t.Drops {
			err = knownwater.Fault{Found: "%s counts drops", Want: "a signal such as 0.0714, or an interval such as 9.0..9.2"}.Of(reading.Quote(text))
		}
		var f knownwater.Fault
		if errors.As(err, &f) {
			f.Column = "--reading"
			faults = append(faults, f)
			continue
		}
		s.Seen = append(s.Seen, t.Plain())
	}
	if faults != nil {
		return result.Outcome{}, faults
	}
	s, c, f := d.prepared(s)
	if f != nil {
		f.Column = "--reading"
		return result.Outcome{}, knownwater.Faults{*f}
	}
	back := c.Read(s)
	r := result.Result{U: back.U, Answer: inverse.Answer{Estimate: back.Level, Low: back.Low, High: back.High, Open: inverse.Open(back.Open)}}
	var notes []note.Note
	if d.Scale.Unit == "" {
		notes = append(notes, note.New("unit-not-stated"))
	}
	notes = append(notes, back.Notes...)
	if q.NitriteKnown && q.Nitrite > 0 {
		notes = append(notes, note.New("nitrite-by-curve").Number("nitrite", q.Nitrite))
	}
	for _, by := range q.Who() {
		if by.Reader != "" {
			notes = append(notes, note.New("sharer-untried-alone").Name("what", "reader").Name("name", by.Reader))
		}
	}
	if q.Lot != "" && q.Lot != d.Scope.Lot {
		notes = append(notes, note.New("sharer-untried-alone").Name("what", "lot").Name("name", q.Lot))
	}
	asked := q.Needs
	if d.Scale.Unit == "" {
		q.Needs = nil
	}
	o := result.Outcome{Question: q, Result: r, Verdicts: []result.Verdict{}}
	if c.scattered() {
		src := sampled{c, math.Hypot(s.UDilution, s.ULot)}
		seen := make([]interval.Interval, len(s.Seen))
		for i, v := range s.Seen {
			seen[i] = turned{query{Curve: c}}.oriented(v)
		}
		o = result.Answered(q, result.Diluted{Source: src, Factor: s.Dilution}, seen, r)
	}
	o.Needs, o.Scale, o.Notes = asked, d.Scale, notes
	return o, nil
}

// sampled is a curve asked about samples; rel is the relative standard uncertainty of what
// the cell's concentration is multiplied by.
type sampled struct {
	Curve
	rel float64
}

// Of is the curve for a mean of signals, whoever read them.
func (s sampled) Of(by []result.Readings, _ bool) result.Response {
	n := 0
	for _, b := range by {
		n += b.Count
	}
	return turned{query{Curve: s.Curve, m: float64(n), rel: s.rel}}
}

// Next is the mean of further signals at c: the curve, and their own scatter.
func (s sampled) Next(c, _ float64, _ []result.Readings, more result.Readings) (mean, sd float64) {
	t := turned{query{Curve: s.Curve, m: float64(more.Count)}}
	g := make([]float64, s.form.Params)
	variance := 0.0
	for _, w := range s.Weightings {
		variance += w.Mass * t.spot(w, c, g).reading
	}
	return t.signal(s.At(c)), math.Sqrt(variance)
}

// Step is 0: how signals round is in their scatter.
func (s sampled) Step(float64) float64 { return 0 }

// Readers are none: a curve does not tell them apart.
func (s sampled) Readers() []string { return nil }

// Uncertainty is u of a level that was read by the curve.
func (t turned) Uncertainty(x float64) float64 {
	t.y = t.At(x)
	u, _ := t.uncertainty(x)
	return u
}
