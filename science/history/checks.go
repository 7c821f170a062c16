package history

import (
	"cmp"
	"math"
	"slices"
	"time"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// Checks are those of one method, lot and known. Reader is one who was not tried; empty: those who were.
type Checks struct {
	Method, Lot, Reader string
	Known               float64
	Entries             []Entry // in order of time
	Chart               control.Chart
	// From is the first check that is judged: those before it set the limits, where no record
	// does.
	From     int
	SignalAt time.Time // of the check that rang; zero: none
	Onset    *Onset    // nil: nothing rang
	// Since are the checks from Onset.Again on, as a row of its own; nil: it does not surely read as it should again.
	Since *Checks
	Why   *note.Note // no limit is set
	// OtherwiseDiluted are checks that are not among the entries: diluted otherwise than most, and not because they had read too much
	// for the sheet.
	OtherwiseDiluted int
	// over is the least that undiluted checks of this known read where the method's sheet has them diluted; 0: none was.
	over float64
	// parted: it lies within a colour of which some checks were diluted and others not, and which of them is not known.
	parted bool
	row    control.Row
	solved *control.Solved // remembers its limits; nil: nobody does
	tried  []string        // lots of the record
	record any             // whose draws the row's are
	crew   crew
	// Ratio is what readings of this known are to what they should be, over all checks, with
	// its 95 % limits; NaN where they should be about nothing.
	Ratio, Low, High float64
}

// Onset is since when a method reads otherwise, in days.
type Onset struct {
	Best, From, To time.Time
	LastGood       time.Time // the day of the last check before From; zero: there is none
	// Ratio is what readings of this known are now to what they should be, with its 95 %
	// limits; NaN where they should be about nothing.
	Ratio, Low, High float64
	// Drifts: it moved on with each check since then. Ratio is what it reads by the last of them.
	Drifts bool
	// Back: it read otherwise for a while, and by the last checks likely as it should again.
	Back bool
	// Again is the day of the first check by which it surely did so: results from then on stand by the checks since.
	// Zero: the checks do not say so.
	Again time.Time
}

func dayOf(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, t.Location())
}

func dateOf(t time.Time) string { return t.Format(time.DateOnly) }

type checkKey struct {
	by    setup
	known float64
}

// ReadBy says whether readings of a reader stand by these checks.
func (c *Checks) ReadBy(reader string) bool { return c.crew.alone(reader) == c.Reader }

// judges says whether a result stands by these checks.
func (c *Checks) judges(e Entry) bool {
	return c.Method == e.Method && c.Lot == e.Lot && c.ReadBy(e.Reader)
}

func checksOf(log []Entry, r reader) (out []Checks, faults knownwater.Faults) {
	m := r.Methods
	if m.Solved == nil {
		m.Solved = new(control.Solved)
	}
	rows := map[checkKey][]Entry{}
	first := map[setup]time.Time{} // use
	use := func(method, lot, reader string, at time.Time) setup {
		k := setup{method, lot, r.crews[method].alone(reader)}
		if was, used := first[k]; !used || at.Before(was) {
			first[k] = at
		}
		return k
	}
	for _, e := range log {
		if k := use(e.Method, e.Lot, e.Reader, e.At); e.Check {
			rows[checkKey{k, e.Known}] = append(rows[checkKey{k, e.Known}], e)
		}
	}
	for method := range r.crews {
		for _, u := range m.Uses[method] {
			use(method, u.Lot, u.Reader, u.At)
		}
	}
	out = []Checks{}
	for k, entries := range rows {
		c := Checks{Method: k.by.Method, Lot: k.by.Lot, Reader: k.by.Reader, Known: k.known, Entries: entries, crew: r.crews[k.by.Method]}
		faults = append(faults, c.prepare(r)...)
		out = append(out, c)
	}
	slices.SortFunc(faults, func(a, b knownwater.Fault) int { return cmp.Compare(a.Row, b.Row) })
	if faults != nil {
		return nil, faults
	}
	slices.SortFunc(out, func(a, b Checks) int {
		return cmp.Or(cmp.Compare(a.Method, b.Method), a.Entries[0].At.Compare(b.Entries[0].At), cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Reader, b.Reader), cmp.Compare(a.Known, b.Known))
	})
	type diluted struct {
		method, reader  string
		known, dilution float64
		record          any // lots that scatter otherwise have their own
	}
	for i := range out {
		out[i].row.New = out[i].isNewLot(first)
	}
	held := map[diluted][]control.Check{} // of lots that were tried and have not moved
	for _, untried := range []bool{false, true} {
		for i := range out {
			c := &out[i]
			if c.Why != nil || c.row.New != untried {
				continue
			}
			known := diluted{c.Method, c.Reader, c.Known, c.dilution(), c.record}
			already := held[known]
			if already == nil {
				anyone := known
				anyone.reader = ""
				already = held[anyone]
			}
			own := slices.Clone(c.row.Checks) // of the record's draws in their order
			c.judge(m.Solved, first[setup{c.Method, c.Lot, c.Reader}], already)
			if !untried && c.Chart.State != control.Moved && c.From == 0 {
				held[known] = append(held[known], own...)
			}
		}
	}
	return out, nil
}

// prepare puts the checks beside what the record as adopted lets them read, or where there is
// none beside a display's own first ones.
func (c *Checks) prepare(r reader) (faults knownwater.Faults) {
	c.Chart = control.Chart{Signal: -1, State: control.Undecided, NoLimits: true}
	c.Ratio, c.Low, c.High = math.NaN(), math.NaN(), math.NaN()
	if records := r.Records[c.Method]; len(records) > 0 {
		c.oneDilution(records[0])
		c.row, faults = c.fromRecord(r, records[0])
		return faults
	}
	c.oneDilution(nil)
	c.row, faults = c.fromThemselves(r.Kinds[c.Method])
	return faults
}

// isNewLot says whether the lot was not tried, or nothing is known of the reader. Where a trial names no lot the one that was used
// first after it is taken for the trial's.
func (c *Checks) isNewLot(first map[setup]time.Time) bool {
	if c.Reader != "" && !c.crew.told {
		return true
	}
	if c.Lot == "" || len(c.tried) > 0 {
		return c.Lot != "" && !slices.Contains(c.tried, c.Lot)
	}
	of := map[string]time.Time{} // lots
	for k, at := range first {
		if k.Method == c.Method && (k.Reader == "" || c.crew.told) && (of[k.Lot].IsZero() || at.Before(of[k.Lot])) {
			of[k.Lot] = at
		}
	}
	for _, at := range of {
		if at.Before(of[c.Lot]) {
			return true
		}
	}
	return false
}

// ChecksOf judges checks of one method, lot and known, whoever read them, whose distribution somebody else knows:
// entries and the row's checks go together, in order of time.
func ChecksOf(entries []Entry, row control.Row) Checks {
	first := entries[0]
	c := Checks{Method: first.Method, Lot: first.Lot, Known: first.Known, Entries: entries, row: row, crew: crew{anyone: true}}
	c.judge(nil, first.At, nil)
	return c
}

// Delay is within how many checks one would ring, in four of five cases, if the known read ratio of what it
// does from the next on; NaN where no limit is set.
func (c *Checks) Delay(ratio float64) float64 {
	if c.Chart.NoLimits {
		return math.NaN()
	}
	return control.DelayFor(c.row, c.Chart.Limits, ratio, c.solved)
}

// judge draws the charts. held are checks of the same known with lots that were tried and
// have not moved: what they say of the known, and of the record where it is not sure, is the same for
// a new lot. opened is the first use of the lot.
func (c *Checks) judge(solved *control.Solved, opened time.Time, held []control.Check) {
	if len(held) > 0 {
		places := control.Likelier(held)
		for i, k := range c.row.Checks {
			draws := make([]control.Normal, len(places))
			for j, d := range places {
				draws[j] = k.Draws[d]
			}
			c.row.Checks[i].Draws = draws
		}
	}
	c.solved = solved
	c.Chart = control.Of(c.row, solved)
	if c.Chart.NoLimits {
		c.no(note.New("check-tells-nothing").Name("method", c.Method).Number("known", c.Known))
		return
	}
	mid, low, high := c.Chart.Now.Interval()
	c.Ratio, c.Low, c.High = ratios(c.row, mid, low, high)
	if c.Chart.Signal >= 0 {
		c.SignalAt = c.Entries[c.From+c.Chart.Signal].At
	}
	if c.Chart.State == control.Moved {
		c.onset(opened)
		c.since()
	}
}

// since judges the checks from the return on by themselves, where there was one: readings may move again.
func (c *Checks) since() {
	by := c.Chart.Onset.By
	if by == 0 {
		return
	}
	s := Checks{Method: c.Method, Lot: c.Lot, Reader: c.Reader, crew: c.crew, Known: c.Known, Entries: c.Entries[c.From+by:], row: c.row, tried: c.tried}
	s.row.Checks, s.row.New = c.row.Checks[by:], false
	s.judge(c.solved, s.Entries[0].At, nil)
	if s.Onset != nil && s.Onset.LastGood.IsZero() {
		s.Onset.LastGood = dayOf(s.Entries[0].At)
	}
	c.Since = &s
}

// Now is what the newest checks say: those since the method was back, where it was away for a while.
func (c *Checks) Now() *Checks {
	for c.Since != nil {
		c = c.Since
	}
	return c
}

// AwayOn is since when, and until when, checks say that the method read otherwise on a day; nil: they do not.
func (c *Checks) AwayOn(at time.Time) *Onset {
	for ; c != nil && c.Onset != nil; c = c.Since {
		day := dayOf(at.In(c.Onset.Best.Location()))
		switch {
		case day.Before(c.Onset.Best):
			return nil
		case c.Since == nil || day.Before(c.Onset.Again):
			return c.Onset
		}
	}
	return nil
}

func (c *Checks) no(why note.Note) { c.Why = &why }

func (c *Checks) fromRecord(r reader, by Source) (row control.Row, faults knownwater.Faults) {
	type model struct {
		reader      string
		u, dilution float64
	}
	known := map[model]assess.Expected{}
	for _, e := range c.Entries {
		o, err := r.answer(question{method: e.Method, reading: e.Reading, reader: e.Reader, lot: e.Lot, dilution: e.Dilution}, by)
		if err != nil {
			faults = append(faults, inRow(err, e.Row)...)
			continue
		}
		seen := o.Seen[0]
		if c.over > 0 && e.Dilution > 1 || c.isOver(e.Dilution, seen) { // held against what the undiluted ones read
			e.Dilution, seen = 1, interval.Above(c.over)
		}
		k := model{e.Reader, e.UKnown, e.Dilution}
		expected, there := known[k]
		if !there {
			var ok bool
			if expected, ok = by.Expect(e.Known, e.UKnown, e.Reader, e.Lot, e.Dilution); !ok {
				c.no(note.New("known-beyond-record").Name("method", c.Method).Number("known", c.Known))
				return row, nil
			}
			known[k] = expected
		}
		row.Checks = append(row.Checks, control.Check{Seen: seen, Draws: expected.Draws})
		row.Tiles, c.tried, c.record = expected.Tiles, expected.Lots, expected.Record
	}
	switch {
	case c.over > 0 && row.Tiles == nil && faults == nil:
		row.Tiles = row.StepsUpTo(c.over)
	case c.parted:
		row.Tiles = slices.DeleteFunc(slices.Clone(row.Tiles), func(t interval.Interval) bool { return t.High > c.over*(1+1e-9) })
		row.Tiles = append(row.Tiles, interval.Above(c.over))
	}
	return row, faults
}

func questionOf(e Entry) result.Question {
	return result.Question{Readings: []string{e.Reading}, Reader: e.Reader, Lot: e.Lot, Dilution: e.Dilution}
}

// fromThemselves sets limits of a display from its first checks.
func (c *Checks) fromThemselves(m knownwater.Method) (row control.Row, faults knownwater.Faults) {
	var values []float64
	for _, e := range c.Entries {
		seen, err := reading.Understand(e.Reading, m)
		if err != nil {
			faults = append(faults, inRow(err, e.Row)...)
			continue
		}
		row.Checks = append(row.Checks, control.Check{Seen: seen})
		values = append(values, seen.Mid())
	}
	if faults != nil {
		return row, faults
	}
	if reading.Answers(m, 1) != nil || math.IsInf(num.Mean(values), 0) {
		c.no(note.New("limits-need-a-record").Name("method", c.Method))
		return row, nil
	}
	draws := control.FromChecks(values[:min(len(values), control.FewestSet)])
	if draws == nil || len(values) == control.FewestSet {
		c.no(note.New("limits-not-set-yet").Name("method", c.Method))
		return row, nil
	}
	c.From = control.FewestSet
	row.Checks = row.Checks[c.From:]
	for i := range row.Checks {
		row.Checks[i].Draws = draws
	}
	return row, nil
}

// onset puts the places of a change among the checks into days. A change before the first
// check began where the lot came into use.
func (c *Checks) onset(opened time.Time) {
	o := c.Chart.Onset
	day := func(i int) time.Time {
		if i == 0 && c.From == 0 {
			return dayOf(opened)
		}
		return dayOf(c.Entries[c.From+i].At)
	}
	at := Onset{Drifts: o.Drifts, Back: o.Back, Best: day(o.Best), From: day(o.From), To: dayOf(c.Entries[c.From+o.To].At)}
	if before := c.From + o.From - 1; before >= 0 { // it began after the last check that was good
		at.LastGood = dayOf(c.Entries[before].At)
		at.From = at.LastGood
	}
	if o.By > 0 {
		at.Again = dayOf(c.Entries[c.From+o.By].At)
	}
	at.Ratio, at.Low, at.High = ratios(c.row, o.Shift, o.ShiftLow, o.ShiftHigh)
	c.Onset = &at
}

// ratios are shifts, in standard deviations of one check, as shares of what it should read.
func ratios(row control.Row, shifts ...float64) (mid, low, high float64) {
	mean, square := 0.0, 0.0
	draws := row.Checks[0].Draws
	for _, d := range draws {
		mean += d.Mean / float64(len(draws))
		square += d.SD * d.SD / float64(len(draws))
	}
	sd := math.Sqrt(square)
	if !(mean > 2*sd) {
		return math.NaN(), math.NaN(), math.NaN()
	}
	ratio := func(shift float64) float64 { return math.Max(0, (mean+shift*sd)/mean) }
	return ratio(shifts[0]), ratio(shifts[1]), ratio(shifts[2])
}
