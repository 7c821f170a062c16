package doubt

import (
	"cmp"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// unranged says of both ends whether a method shows numbers there of which nobody said how far they go.
func unranged(m knownwater.Method) (below, above bool) {
	if k := reading.Of(m.Kind); !k.Number || k.Signal {
		return false, false
	}
	return m.Range == nil || math.IsInf(m.Range.Low, -1), m.Range == nil || math.IsInf(m.Range.High, 1)
}

// shown gathers what a display showed at knowns that it ought to show alike: the known over the dilution.
type shown struct {
	at, known   float64
	least, most float64         // middles of what was seen
	n, nothing  int             // readings, and how many of them showed 0
	step        float64         // between the numbers it shows
	counts      map[float64]int // readings by their middle
}

// shownBy lists what a display showed, rising by what it ought to show. A reading that is open says
// where an end is: of that end nothing is asked.
func shownBy(obs []knownwater.Observation) (all []shown, openBelow, openAbove bool) {
	by := map[float64]*shown{}
	for _, o := range obs {
		openBelow, openAbove = openBelow || o.Seen.OpenBelow(), openAbove || o.Seen.OpenAbove()
		if o.Seen.OpenBelow() || o.Seen.OpenAbove() {
			continue
		}
		at := o.Level / max(o.Dilution, 1)
		s := by[at]
		if s == nil {
			s = &shown{at: at, known: o.Level, least: math.Inf(1), most: math.Inf(-1), counts: map[float64]int{}}
			by[at] = s
		}
		middle, n := o.Seen.Mid(), max(1, o.Count)
		s.known = min(s.known, o.Level)
		s.least, s.most, s.n, s.step = min(s.least, middle), max(s.most, middle), s.n+n, max(s.step, o.Seen.High-o.Seen.Low)
		s.counts[middle] += n
		if middle == 0 {
			s.nothing += n
		}
	}
	for _, s := range by {
		all = append(all, *s)
	}
	slices.SortFunc(all, func(a, b shown) int { return cmp.Compare(a.at, b.at) })
	return all, openBelow, openAbove
}

// NeverBelow finds the lowest known at which a display showed 0 beside more, and less at none: if it
// cannot show less, its zeros hide how far it scatters there, and what it says near nothing is
// surer than it ought to be. (A simulated display of 0.2 scatter, clipped at 0, misses the
// water of 0.5 with 9 of 64 of its 95 % intervals, and with 3 where its range is stated.)
// Where the zeros heap up it is asked (askRange), and nothing need be said here.
func NeverBelow(m knownwater.Method, obs []knownwater.Observation) (known float64, doubted bool) {
	below, _ := unranged(m)
	all, open, _ := shownBy(obs)
	if !below || open || slices.ContainsFunc(all, func(s shown) bool { return s.least < 0 }) {
		return 0, false
	}
	if _, asked := endsBelow(all); asked {
		return 0, false
	}
	for _, s := range all {
		if s.nothing > 0 && s.most > 0 && s.nothing < s.n {
			return s.known, true
		}
	}
	return 0, false
}

// heaped is how many steps above 0 a reading has to lie beside zeros that are most of the
// readings there, two at least. (Of normal readings whose mean is 0 or a little more that happens
// in at most 3 of 100, three to nine of them: those that scatter so far show less than 0, too.)
const heaped = 2.5

// endsBelow says where a display that never showed less than 0 showed 0 more often than what scatters so far would.
func endsBelow(all []shown) (at shown, ends bool) {
	for _, s := range all {
		if s.least < 0 {
			return shown{}, false
		}
		if !ends && s.nothing >= 2 && 2*s.nothing > s.n && s.most > heaped*s.step {
			at, ends = s, true
		}
	}
	return at, ends
}

// rarely is the chance below which readings that are all alike are not taken for chance, and fallsShort how far
// below what the two knowns beneath lead to they lie, as a share of that: a method that repeats
// itself at the top shows what is there.
const rarely, fallsShort = 0.1, 0.05

// endsAbove says from where on a display showed one and the same number, and never more: at several of
// the highest knowns, or at the highest one though its readings at the knowns below are seldom
// alike and lead higher. If it cannot show more, that number says "at least so much", and the response is
// bent towards it. (A display that ends at 30, tried at 20, 40 and 50, says "above 37" of every water from 30 up.)
func endsAbove(all []shown) (from shown, ends bool) {
	most := math.Inf(-1)
	for _, s := range all {
		most = max(most, s.most)
	}
	first := len(all)
	for first > 0 && all[first-1].least == most {
		first--
	}
	if first == 0 || first == len(all) {
		return shown{}, false
	}
	alike, pairs := 0, 0
	for _, s := range all[:first] {
		pairs += s.n * (s.n - 1) / 2
		for _, n := range s.counts {
			alike += n * (n - 1) / 2
		}
	}
	if from = all[first]; first < len(all)-1 {
		return from, alike < pairs // else it does not scatter, or nothing tells
	}
	chance := math.Pow(float64(alike+1)/float64(pairs+2), float64(from.n-1))
	return from, alike < pairs && chance < rarely && most+from.step < (1-fallsShort)*leadsTo(all[:first], from.at)
}

// leadsTo goes on straight through what was shown at the two highest knowns, or from nothing through the one.
func leadsTo(below []shown, at float64) float64 {
	middle := func(s shown) float64 { return s.least + (s.most-s.least)/2 }
	b := below[len(below)-1]
	var a struct{ at, shows float64 }
	if n := len(below); n > 1 {
		a.at, a.shows = below[n-2].at, middle(below[n-2])
	}
	return a.shows + (middle(b)-a.shows)*(at-a.at)/(b.at-a.at)
}

// askRange asks whether a display ends where it looks so. Where it does its readings there are open, and
// a verdict that leans on them waits for the answer.
func (s *Sight) askRange() (qs []Question) {
	obs := make([]knownwater.Observation, len(s.rows))
	for i, r := range s.rows {
		obs[i] = r.o
	}
	below, above := unranged(s.method)
	all, openBelow, openAbove := shownBy(obs)
	if from, ends := endsAbove(all); ends && above && !openAbove {
		at := func(o knownwater.Observation) bool { return o.Seen.Mid() >= from.least }
		qs = append(qs, s.endsAt(note.New("ask-ends-above").Number("level", from.known).Number("shown", from.least), at, interval.Below(from.least)))
	}
	if from, ends := endsBelow(all); ends && below && !openBelow {
		at := func(o knownwater.Observation) bool { return o.Seen.Mid() <= 0 }
		qs = append(qs, s.endsAt(note.New("ask-ends-below").Number("level", from.known), at, interval.Above(0)))
	}
	return qs
}

// endsAt asks about one end of a display's range, at which some readings are; no other question asks about these.
func (s *Sight) endsAt(says note.Note, at func(knownwater.Observation) bool, shows interval.Interval) Question {
	var rows []int
	for i, r := range s.rows {
		if at(r.o) {
			rows, s.taken[i] = append(rows, i), true
		}
	}
	return Question{Kind: OfRange, Method: s.method.Name, At: PlacesOf(s.obs(rows)), Says: says, Matrix: s.matrix,
		Mends: []Mend{withRange(s.method.Name, at, shows)}}
}

// withRange is the trial with a display that shows no more, or no less: its readings there are open.
func withRange(method string, at func(knownwater.Observation) bool, shows interval.Interval) Mend {
	return func(t knownwater.Trial) knownwater.Trial {
		t.Methods, t.Observations = slices.Clone(t.Methods), slices.Clone(t.Observations)
		for i := range t.Methods {
			if m := &t.Methods[i]; m.Name == method {
				r := shows
				if m.Range != nil {
					r = interval.Interval{Low: max(r.Low, m.Range.Low), High: min(r.High, m.Range.High)}
				}
				m.Range = &r
			}
		}
		for i := range t.Observations {
			switch o := &t.Observations[i]; {
			case o.Method != method || !at(*o):
			case shows.OpenAbove(): // no less
				o.Seen = interval.Below(o.Seen.High)
			default:
				o.Seen = interval.Above(o.Seen.Low)
			}
		}
		return t
	}
}
