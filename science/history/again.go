package history

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// reexpress says what results of setups whose yield has been found mean by what is known
// now, beside what was said at the time, with the doubt that this adds. A setup's yield is that of its checks before it moved: what was
// read after that it does not tell.
func (l *links) reexpress(results []Result, checks []Checks, r reader) {
	added := map[int]float64{}
	for i, one := range results {
		p := l.points[i]
		if p.at < 0 || l.anchored(p.set) || !l.true_[l.group[p.set]] || l.sinceMoved(one.Entry, checks) {
			continue
		}
		u, there := added[p.set]
		if !there {
			u = l.addedBy(p.set)
			added[p.set] = u
		}
		yield := l.yieldOf(p.set)
		var again *result.Outcome
		if records := l.Records[one.Method]; len(records) > 0 {
			o, err := r.answer(question{method: one.Method, reading: one.Reading, reader: one.Reader, lot: one.Lot, dilution: one.Dilution, yield: yield, uYield: u, now: true,
				nitriteKnown: one.NitriteKnown, nitrite: one.Nitrite, uNitrite: one.UNitrite}, records[len(records)-1])
			if err != nil {
				continue // it was understood before
			}
			again = &o
		} else if again = l.plainAgain(p, yield, u); again == nil {
			continue
		}
		results[i].Again = again
		if one.Standing == Stands {
			own := math.Sqrt(meanSquare(l.off[p.set])) // with the record's error, which the result has already
			low, high := yield*math.Exp(-num.Z95*own), yield*math.Exp(num.Z95*own)
			n := note.New("re-expressed").Name("method", one.Method).Name("lot", one.Lot).Number("yield", yield, low, high)
			if other, reversed := l.reversed[p.set]; reversed {
				n = note.New("re-expressed-pairs").Name("method", one.Method).Name("lot", one.Lot).Name("other", l.setups[other].Method).Number("yield", yield, low, high)
			} else if reader := l.setups[p.set].Reader; reader != "" {
				n = note.New("re-expressed-reader").Name("method", one.Method).Name("reader", reader).Number("yield", yield, low, high)
			}
			results[i].Doubt = &n
		}
	}
}

// addedBy is the relative standard uncertainty that a yield adds to what the record leaves
// open: where checks tie both to known water, less than its own.
func (l *links) addedBy(set int) float64 {
	var read []point
	for _, p := range l.points {
		if p.at >= 0 && p.set == set && p.seen.Mid() > 0 && !p.open {
			read = append(read, p)
		}
	}
	all := meanSquare(l.off[set])
	if read == nil {
		return math.Sqrt(all)
	}
	slices.SortStableFunc(read, func(a, b point) int { return cmp.Compare(a.seen.Mid(), b.seen.Mid()) })
	middle := read[len(read)/2] // by its own dilution and reader: another's errors are others there
	c := middle.seen.Mid()
	record := make([]float64, draws)
	middle.way.Shared(c, 1/c, record)
	both := slices.Clone(record)
	for d := range both {
		both[d] -= l.off[set][d]
	}
	return math.Sqrt(math.Max(meanSquare(both)-meanSquare(record), all/25))
}

func meanSquare(list []float64) (s float64) {
	for _, v := range list {
		s += v * v / draws
	}
	return s
}

// plainAgain is a result of a method without a record on the scale of known water.
func (l *links) plainAgain(p point, yield, u float64) *result.Outcome {
	a, plain := p.way.(asShown)
	if !plain || !(a.share > 0) || p.open {
		return nil
	}
	c := p.seen.Mid() / yield
	sd := math.Hypot(p.own(c*yield)/yield, c*u)
	half := p.seen.Width() / 2 / yield
	far := math.Exp(math.Hypot(a.t*a.share, num.Z95*u))                     // the scatter is one of logarithms
	more := half + num.Z95*(p.own(c*yield)-a.share*math.Abs(c*yield))/yield // but no less than the resolution leaves
	var o result.Outcome
	o.Scale = l.scaleOf(p.set)
	o.Result = result.Result{Answer: inverse.Answer{Estimate: c, Low: math.Max(0, c/far-more), High: c*far + more}, U: math.Hypot(sd, half/math.Sqrt(3))}
	return &o
}

// scaleOf is the unit of a group: that of any record in it.
func (l *links) scaleOf(set int) (s unit.Scale) {
	for other, name := range l.setups {
		if records := l.Records[name.Method]; len(records) > 0 && l.group[other] == l.group[set] {
			return records[len(records)-1].Unit()
		}
	}
	return s
}

// understand is what was seen of an entry; nil where it cannot be understood.
func (r reader) understand(e Entry) *interval.Interval {
	if records := r.Records[e.Method]; len(records) > 0 {
		o, err := r.say(e, records[len(records)-1], len(records) > 1)
		if err != nil {
			return nil
		}
		return seenIn(o)
	}
	seen, err := asTyped(e, r.Kinds[e.Method])
	if err != nil {
		return nil
	}
	return seen
}
