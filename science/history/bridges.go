package history

import (
	"cmp"
	"math"
	"slices"
	"time"

	"knownwater/science/control"
	"knownwater/science/num"
)

// BridgeKind is what changed.
type BridgeKind string

// What a bridge leads across.
const (
	OfLot    BridgeKind = "lot"
	OfMethod BridgeKind = "method"
	OfReader BridgeKind = "reader"
)

// By is what a bridge rests on.
type By string

// The strongest evidence that there is: pairs are of these waters, checks of known water,
// a trial was before.
const (
	ByPairs  By = "pairs"
	ByChecks By = "checks"
	ByTrial  By = "trial"
	ByNone   By = "none"
)

// Told is what a bridge or a change comes to.
type Told string

// What is said of a bridge or a change.
const (
	SameForNeed  Told = "same for the need"
	Different    Told = "different"
	Rose         Told = "rose"
	Fell         Told = "fell"
	Undecided    Told = "undecided"
	CannotBeTold Told = "cannot be told"
)

// Bridge links what was read before a change of lot, method or reader with what was read
// after it: Ratio is what the later one reads to what the earlier one does, each through its
// own record where it has one, with 95 % limits. NaN where nothing links them.
type Bridge struct {
	Kind             BridgeKind
	Method           string // of a change of method: the later one
	From, To         string
	At               time.Time // first used
	Ratio, Low, High float64
	By               By
	Verdict          Told
	Pairs, Checks    int     // what it rests on
	Level            float64 // about where the waters are that were read then
	// Wanted is how many samples read on both sides would show a ratio of 0.80 in four of five
	// cases at 5 %; 0: too little is in the water for samples to show it.
	Wanted   int
	from, to int // setups
}

// step is a change from one setup or reader to another within a water.
type step struct {
	kind     BridgeKind
	from, to int
	a, b     point
}

// stepsOf finds every change, once for each two that follow one another anywhere.
func (l *links) stepsOf() (out []step) {
	type key struct {
		kind     BridgeKind
		a, b     string
		from, to int
	}
	seen := map[key]bool{}
	add := func(s step, a, b string) {
		k := key{s.kind, a, b, s.from, s.to}
		if a > b || a == b && s.from > s.to {
			k = key{s.kind, b, a, s.to, s.from}
		}
		if !seen[k] {
			seen[k] = true
			out = append(out, s)
		}
	}
	type inWater struct{ water, method string }
	last, lastOf := map[string]point{}, map[inWater]point{}
	points := slices.Clone(l.points)
	sortPoints(points)
	slices.SortStableFunc(points, func(a, b point) int { return l.made(a) - l.made(b) })
	for _, p := range points {
		if p.at < 0 {
			continue
		}
		if was, there := last[p.Water]; there && was.Method != p.Method {
			add(step{OfMethod, was.set, p.set, was, p}, was.Method, p.Method)
		}
		if was, there := lastOf[inWater{p.Water, p.Method}]; there {
			if was.Lot != p.Lot && l.setups[was.set].Reader == l.setups[p.set].Reader {
				add(step{OfLot, was.set, p.set, was, p}, "", "")
			}
			if was.Reader != p.Reader && was.Reader != "" && p.Reader != "" {
				add(step{OfReader, was.set, p.set, was, p}, p.Method+"\x00"+was.Reader, p.Method+"\x00"+p.Reader)
			}
		}
		last[p.Water], lastOf[inWater{p.Water, p.Method}] = p, p
	}
	return out
}

// made puts waters that were only tested to compare two methods behind the others: which of
// their readings came first says nothing.
func (l *links) made(p point) int {
	if l.compared[p.Water] {
		return 1
	}
	return 0
}

// bridges are those over every change of lot, method and reader, in order of time. matters is
// the difference in concentration that matters; 0: nobody says.
func (l *links) bridges(matters float64) []Bridge {
	out := []Bridge{}
	for _, s := range l.stepsOf() {
		b := Bridge{Kind: s.kind, Method: s.b.Method, At: s.b.At, Ratio: math.NaN(), Low: math.NaN(), High: math.NaN(), By: ByNone, Verdict: CannotBeTold, from: s.from, to: s.to}
		switch s.kind {
		case OfLot:
			b.From, b.To = s.a.Lot, s.b.Lot
		case OfMethod:
			b.From, b.To = s.a.Method, s.b.Method
		case OfReader:
			b.From, b.To = s.a.Reader, s.b.Reader
		}
		b.Level = l.levelAbout(s)
		if s.kind == OfReader && s.from == s.to {
			if l.overReaders(&b, s); b.By == ByNone {
				continue // the record holds for both
			}
		} else {
			l.over(&b, s)
		}
		b.judge(matters)
		b.Wanted = wanted(s.a, s.b, b.Level)
		out = append(out, b)
	}
	slices.SortStableFunc(out, func(a, b Bridge) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Method, b.Method), cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To))
	})
	return out
}

// fewestPairs are asked for where nothing says how readings scatter.
const fewestPairs = 8

// planned is the ratio that pairs wanted are to show.
const planned = 0.8

// hardlyRead is a scatter, as a share of what is read, from which on logarithms of single readings are no longer normal, and some
// readings are too near nothing to have any.
const hardlyRead = 0.3

// wanted plans pairs by what readings on both sides scatter, steps in it, where the water is: the later one reads planned times
// as much there. 0: readings say too little there for pairs to show it.
func wanted(a, b point, level float64) int {
	one, two := a.relative(level), b.relative(planned*level)
	if math.Max(one, two) > hardlyRead {
		return 0
	}
	n := control.SideBySide(math.Hypot(one, two)/math.Sqrt2, planned, plannedPower)
	if a.plain() || b.plain() || n == 0 {
		n = max(n, fewestPairs)
	}
	return n
}

// relative is what one reading about a level scatters, and its answer's width, as a share.
func (p point) relative(level float64) float64 {
	width := p.seen.Width()
	if math.IsInf(width, 0) {
		width = 0
	}
	return math.Hypot(p.own(level), width/math.Sqrt(12)) / level
}

// levelAbout is the median of what the two setups read of the water that changed hands.
func (l *links) levelAbout(s step) float64 {
	var all []float64
	for _, p := range l.points {
		if p.at < 0 || p.Water != s.b.Water || p.set != s.from && p.set != s.to || p.open {
			continue
		}
		if c := p.seen.Mid() / l.yieldOf(p.set); c > 0 {
			all = append(all, c)
		}
	}
	if len(all) == 0 {
		return math.NaN()
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// over is the bridge between two setups: by their yields, and by what their records say
// otherwise at the level of the water. Where pairs link them these tell it: they are of the waters in question.
func (l *links) over(b *Bridge, s step) {
	if l.group[s.from] != l.group[s.to] || math.IsNaN(b.Level) {
		return
	}
	low, high := min(s.from, s.to), max(s.from, s.to)
	b.Pairs = l.by[[2]int{low, high}].pairs
	b.Checks = l.by[[2]int{s.from, s.from}].checks + l.by[[2]int{s.to, s.to}].checks
	switch {
	case b.Pairs > 0:
		b.By = ByPairs
	case l.anchored(s.from) && l.anchored(s.to):
		b.By = ByTrial
	case b.Checks > 0:
		b.By = ByChecks
	default: // through a third one
		b.By = ByPairs
	}
	off := make([]float64, draws)
	for d := range off {
		off[d] = l.off[s.to][d] - l.off[s.from][d]
	}
	value := l.yield[s.to] - l.yield[s.from]
	from, to := b.Level*l.yieldOf(s.from), b.Level*l.yieldOf(s.to)
	if len(l.Records[s.a.Method]) > 0 || len(l.Records[s.b.Method]) > 0 {
		s.b.way.Shared(to, 1/to, off)
		s.a.way.Shared(from, -1/from, off)
	}
	variance := 0.0
	for _, e := range off {
		variance += e * e / draws
	}
	if l.anchored(s.from) && l.anchored(s.to) {
		for _, o := range l.observePairs() {
			if o.plus != high || o.minus != low {
				continue
			}
			seen := o.value
			if high == s.from {
				seen = -seen
			}
			value, variance = seen, o.own
		}
	}
	b.set(value, math.Sqrt(variance))
}

func (b *Bridge) set(log, u float64) {
	b.Ratio, b.Low, b.High = math.Exp(log), math.Exp(log-num.Z95*u), math.Exp(log+num.Z95*u)
}

// judge says what the ratio comes to: different where its interval leaves out 1; the same
// for the need where the whole of it moves the water's level by no more than what matters.
func (b *Bridge) judge(matters float64) {
	margin := matters / b.Level
	switch {
	case b.By == ByNone:
	case matters > 0 && b.Low >= 1-margin && b.High <= 1+margin:
		b.Verdict = SameForNeed
	case b.Low > 1 || b.High < 1:
		b.Verdict = Different
	default:
		b.Verdict = Undecided
	}
}

// overReaders is the bridge between two readers of one setup: by the trial where it told
// both apart, else by checks that both read of one known with one lot, else by how much the trial says that readers differ.
func (l *links) overReaders(b *Bridge, s step) {
	if math.IsNaN(b.Level) {
		return
	}
	if records := l.Records[s.b.Method]; len(records) > 0 {
		told := records[len(records)-1].ToldReaders()
		both := slices.Contains(told, b.From) && slices.Contains(told, b.To)
		if !both {
			l.overChecks(b, s)
		}
		if both || b.By == ByNone && len(told) > 0 {
			off := make([]float64, draws)
			s.b.way.Shared(b.Level, 1/b.Level, off)
			l.wayOf(Entry{Method: s.b.Method, Lot: s.b.Lot, Reader: b.From, Dilution: s.b.Dilution}).Shared(b.Level, -1/b.Level, off)
			for d, e := range off {
				off[d] = math.Abs(e)
			}
			b.By = ByTrial
			b.set(0, num.QuantileOf(off, 0.95)/num.Z95) // a reader who was not tried may be far off: no normal
		}
		return
	}
	l.overChecks(b, s)
}

func (l *links) overChecks(b *Bridge, s step) {
	type checkOf struct {
		set   int
		known float64
	}
	from, to := map[checkOf][]point{}, map[checkOf][]point{}
	var order []checkOf
	for _, p := range l.checks {
		k := checkOf{p.set, p.Known}
		if p.Method != s.b.Method {
			continue
		}
		switch p.Reader {
		case b.From:
			from[k] = append(from[k], p)
		case b.To:
			if to[k] == nil {
				order = append(order, k)
			}
			to[k] = append(to[k], p)
		}
	}
	total, sum := 0.0, 0.0
	shown := shownByChecks(l.checks)
	for _, k := range order {
		if from[k] == nil {
			continue
		}
		x, y := steadyCheck(to[k], shown), steadyCheck(from[k], shown)
		if !(x.level > 4*math.Sqrt(x.variance)) || !(y.level > 4*math.Sqrt(y.variance)) {
			continue
		}
		w := 1 / (x.variance/(x.level*x.level) + y.variance/(y.level*y.level))
		total, sum = total+w, sum+w*math.Log(x.level/y.level)
		b.Checks += len(from[k]) + len(to[k])
	}
	if total > 0 {
		b.By = ByChecks
		b.set(sum/total, 1/math.Sqrt(total))
	}
}
