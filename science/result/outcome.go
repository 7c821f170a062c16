package result

import (
	"math"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// Question is what somebody asks: what do these readings of one sample say?
type Question struct {
	Readings  []string // as typed
	Reader    string   // who read; empty: nobody is named, or By says it
	By        []string // who read each of them, where several people did; nil: Reader read all
	Lot       string
	Dilution  float64 // by which the readings are multiplied; 0 or 1: not diluted
	UDilution float64 // its relative standard uncertainty
	// Yield is what the lot is known to read of what it should, UYield its relative standard
	// uncertainty; 0: what the record says of the lot.
	Yield, UYield float64
	// Nitrite of the sample, mg/L NO2, with its standard uncertainty, where it is known: a method whose trial says
	// what it makes of nitrite has that taken off.
	NitriteKnown      bool
	Nitrite, UNitrite float64
	Needs             []knownwater.Need
}

// Outcome is the answer, with what it was asked.
type Outcome struct {
	Question
	Method   string              // empty for a curve
	Seen     []interval.Interval // the readings understood, in concentrations of the sample where a record read them
	Scale    unit.Scale
	Result   Result
	Verdicts []Verdict
	Notes    []note.Note
}

// Answered is the outcome of readings that were seen as a source knows them: a record asks
// this of what Of says, a curve of what it says itself.
func Answered(q Question, src Source, seen []interval.Interval, r Result) Outcome {
	o := Outcome{Question: q, Seen: seen, Result: r, Verdicts: []Verdict{}}
	for _, n := range q.Needs {
		o.Verdicts = append(o.Verdicts, Judge(src, q.Who(), seen, r.Answer, n))
	}
	return o
}

// Beyond says where readings lie beyond all that was tried from bottom to top.
func (r Result) Beyond(bottom, top float64) []note.Note {
	switch {
	case r.Open == inverse.Above && r.Low == top:
		return []note.Note{note.New("reads-above-all").Number("top", top)}
	case r.Open == inverse.Below && math.IsNaN(r.Estimate) && r.High == bottom:
		return []note.Note{note.New("reads-below-all").Number("bottom", bottom)}
	}
	return nil
}

// Pieces are those of the set, one where it is whole.
func (r Result) Pieces() []interval.Interval {
	switch {
	case r.Parts != nil:
		return r.Parts
	case math.IsNaN(r.Low) && math.IsNaN(r.High): // nothing can be said
		return nil
	}
	i := interval.Interval{Low: r.Low, High: r.High}
	if r.Open == inverse.Above {
		i.High = interval.Above(0).High
	}
	return []interval.Interval{i}
}
