package history

import (
	"errors"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// question is all of an entry that an answer depends on.
type question struct {
	method, reading, reader, lot string
	dilution, yield, uYield      float64
	now                          bool
	nitriteKnown                 bool
	nitrite, uNitrite            float64
}

// reader turns readings round, equal ones once.
type reader struct {
	Methods
	crews map[string]crew
	known map[question]result.Outcome
}

func (r reader) setupOf(e Entry) setup {
	return setup{e.Method, e.Lot, r.crews[e.Method].apart(e.Reader)}
}

func (r reader) answer(q question, by Source) (result.Outcome, error) {
	if o, ok := r.known[q]; ok {
		return o, nil
	}
	o, err := by.Read(result.Question{Readings: []string{q.reading}, Reader: q.reader, Lot: q.lot, Dilution: q.dilution, Yield: q.yield, UYield: q.uYield,
		NitriteKnown: q.nitriteKnown, Nitrite: q.nitrite, UNitrite: q.uNitrite})
	if err == nil {
		r.known[q] = o
	}
	return o, err
}

// asTyped is what was seen of a sample by a method without a record.
func asTyped(e Entry, m knownwater.Method) (*interval.Interval, error) {
	seen, err := reading.Understand(e.Reading, m)
	if err != nil {
		return nil, err
	}
	if e.Dilution > 0 {
		seen = seen.Scale(e.Dilution)
	}
	return &seen, nil
}

// seenIn is what was seen, as the newest answer has it.
func seenIn(answers ...*result.Outcome) (seen *interval.Interval) {
	for _, o := range answers {
		if o != nil && len(o.Seen) > 0 {
			seen = &o.Seen[0]
		}
	}
	return seen
}

func resultsOf(log []Entry, r reader, checks []Checks) (out []Result, faults knownwater.Faults) {
	m := r.Methods
	out = []Result{}
	for _, e := range log {
		if e.Check {
			continue
		}
		one := Result{Entry: e, Standing: Stands}
		records := m.Records[e.Method]
		var err error
		if len(records) == 0 {
			one.seen, err = asTyped(e, m.Kinds[e.Method])
		} else {
			one.Outcome, err = r.say(e, records[0], false)
			if last := records[len(records)-1]; err == nil && len(records) > 1 {
				one.Again, err = r.say(e, last, true)
			}
			one.seen = seenIn(one.Outcome, one.Again)
		}
		if err != nil {
			if faults = append(faults, inRow(err, e.Row)...); len(faults) > mostFaults {
				break
			}
			continue
		}
		one.settle(checks)
		out = append(out, one)
	}
	return out, faults
}

// mostFaults are enough of one log.
const mostFaults = 1000

func (r reader) say(e Entry, by Source, now bool) (*result.Outcome, error) {
	q := question{method: e.Method, reading: e.Reading, reader: e.Reader, lot: e.Lot, dilution: e.Dilution, now: now, nitriteKnown: e.NitriteKnown, nitrite: e.Nitrite, uNitrite: e.UNitrite}
	if e.Lot == UnknownLot && len(by.TriedLots()) < 2 {
		q.yield, q.uYield = 1, uUnknownLot
	}
	o, err := r.answer(q, by)
	if err != nil {
		return nil, err
	}
	return &o, nil
}

// settle says whether the result stands: it waits from the onset of a shift that a check of
// its method, lot and reader has shown, until checks show that the method read as it should again.
func (r *Result) settle(checks []Checks) {
	for i := range checks {
		c := &checks[i]
		if !c.judges(r.Entry) {
			continue
		}
		if o := c.AwayOn(r.At); o != nil {
			r.Standing = Waits
			n := note.New("waits-for-check").Name("method", r.Method).Name("since", dateOf(o.Best)).Number("known", c.Known)
			if !o.Again.IsZero() {
				n = note.New("waits-for-check-back").Name("method", r.Method).Name("since", dateOf(o.Best)).Name("again", dateOf(o.Again)).Number("known", c.Known)
			}
			r.Doubt = &n
			return
		}
		day := dayOf(r.At)
		for ; c != nil && c.Onset != nil; c = c.Since {
			if o := c.Onset; !day.Before(o.From) && day.After(o.LastGood) && day.Before(o.Best) {
				n := note.New("may-have-moved").Name("method", r.Method).Name("from", dateOf(o.From)).Name("to", dateOf(o.To))
				r.Doubt = &n
			}
		}
	}
	if r.Doubt == nil && r.Outcome != nil {
		for _, n := range r.Outcome.Notes {
			if n.Code == "sharer-untried" || n.Code == "sharer-untried-alone" {
				r.Doubt = &n
				return
			}
		}
	}
}

// inRow puts the faults of a reading into its row.
func inRow(err error, row int) knownwater.Faults {
	var fs knownwater.Faults
	var f knownwater.Fault
	switch {
	case errors.As(err, &fs):
	case errors.As(err, &f):
		fs = knownwater.Faults{f}
	default:
		fs = knownwater.Faults{{Found: err.Error(), Want: "a reading of the method"}}
	}
	out := make(knownwater.Faults, len(fs))
	for i, f := range fs {
		f.Row, f.Column = row, "reading"
		out[i] = f
	}
	return out
}
