package history

import (
	"cmp"
	"math"
	"slices"
	"time"

	"knownwater/science/num"
)

// links is what ties the setups of a log together: a setup's yield is what it reads of what
// the record of its method says it should. What ties are the trial (its lots have yield 1),
// checks (knowns read by a setup), and pairs (one sample read by two). Setups that nothing
// ties, in whatever many steps, are of different groups: what is read by one cannot be held
// against what is read by the other.
type links struct {
	reader
	began    time.Time
	ways     map[wayKey]way
	scatter  map[string]asShown // of methods without a record: what pairs show
	setups   []setup            // in order of their first use
	index    map[setup]int
	tried    []bool // the trial tried its lot, and holds for its reader
	taken    []bool // … or nobody knows otherwise: the trial names no lots
	group    []int
	true_    []bool      // by group: tied to known water
	yield    []float64   // by setup, as a logarithm
	off      [][]float64 // [setup][draw]: its error
	by       map[[2]int]evidence
	points   []point // results
	checks   []point
	pairs    []pair
	compared map[string]bool // waters that were only tested to compare methods
	reversed map[int]int     // setups held against another by pairs, not by their records
	against  map[int]bool    // those of them of which pairs contradict the records
}

// evidence says by what two setups are tied directly.
type evidence struct{ pairs, checks int }

// pair is one sample read by two setups.
type pair struct{ a, b point }

func (l *links) setOf(e Entry) int { return l.index[l.setupOf(e)] }

func (l *links) yieldOf(set int) float64 { return math.Exp(l.yield[set]) }

func unity(int) float64 { return 1 }

// anchored says that a setup's yield is 1 by the trial.
func (l *links) anchored(set int) bool {
	_, reversed := l.reversed[set]
	return l.tried[set] && !reversed
}

// newLinks gathers the setups of a log and what ties them.
func newLinks(log []Entry, r reader, results []Result, checks []Checks) *links {
	l := &links{reader: r, ways: map[wayKey]way{}, scatter: map[string]asShown{}, index: map[setup]int{}, reversed: map[int]int{}, against: map[int]bool{}}
	if len(log) > 0 {
		l.began = log[0].At
	}
	firstLot := map[string]string{}
	for method, uses := range r.Uses {
		if i := slices.IndexFunc(uses, func(u Use) bool { return u.Lot != UnknownLot }); i >= 0 {
			firstLot[method] = uses[i].Lot
		}
	}
	for _, e := range log {
		s := l.setupOf(e)
		if _, there := l.index[s]; there {
			continue
		}
		l.index[s] = len(l.setups)
		l.setups = append(l.setups, s)
		if _, there := firstLot[e.Method]; !there && e.Lot != UnknownLot {
			firstLot[e.Method] = e.Lot
		}
		tried, taken := false, false
		if records := l.Records[e.Method]; len(records) > 0 && e.Lot != UnknownLot {
			lots := records[len(records)-1].TriedLots()
			tried = slices.Contains(lots, e.Lot)
			taken = e.Lot == "" && len(lots) > 0 || len(lots) == 0 && e.Lot == firstLot[e.Method]
		}
		l.tried, l.taken = append(l.tried, s.Reader == "" && (tried || taken)), append(l.taken, taken && e.Lot != "")
	}
	l.compared = map[string]bool{}
	for _, r := range results {
		was, there := l.compared[r.Water]
		l.compared[r.Water] = r.Pair != "" && (was || !there)
	}
	l.gather(results, checks)
	l.solve()
	return l
}

// gather makes points of results and checks, and finds the pairs. Checks after a method had
// moved within a lot, and results that wait for that, say nothing of the lot's yield.
func (l *links) gather(results []Result, checks []Checks) {
	paired := map[string][]int{}
	for i, r := range results {
		if r.Pair != "" && !l.late(r.Entry, checks) {
			paired[r.Pair] = append(paired[r.Pair], i)
		}
	}
	l.shownScatter(results, paired)
	for i := range results {
		r := &results[i]
		if seen := l.understand(r.Entry); seen != nil {
			l.points = append(l.points, l.pointOf(r.Entry, i, r, *seen))
		} else {
			l.points = append(l.points, point{Entry: r.Entry, at: -1, day: -1})
		}
	}
	l.unstated()
	for i := range checks {
		c := &checks[i]
		for _, e := range c.Entries {
			if seen := l.understand(e); seen != nil && !c.movedWithin(e.At) && !l.sinceMoved(e, checks) {
				p := l.pointOf(e, -1, nil, *seen)
				if c.isOver(e.Dilution, *seen) {
					p = l.asOver(p, c.over)
					p.over = false
				}
				l.checks = append(l.checks, p)
				if over, there := l.overOf(c, p); there {
					l.checks = append(l.checks, over)
				}
			}
		}
	}
	sortPoints(l.checks)
	words := make([]string, 0, len(paired))
	for w := range paired {
		words = append(words, w)
	}
	slices.Sort(words)
	for _, w := range words {
		at := paired[w]
		for k, i := range at {
			for _, j := range at[:k] {
				if a, b := l.points[j], l.points[i]; a.at >= 0 && b.at >= 0 && a.set != b.set && !a.open && !b.open {
					l.pairs = append(l.pairs, pair{a, b})
				}
			}
		}
	}
}

// movedWithin says that checks show the method to have moved by then, and to have been good before with the same lot, or
// after.
func (c *Checks) movedWithin(at time.Time) bool {
	for day := dayOf(at); c != nil && c.Onset != nil; c = c.Since {
		if !day.After(c.Onset.LastGood) || c.Onset.LastGood.IsZero() && c.Since == nil {
			return false
		}
		if c.Since == nil || day.Before(c.Onset.Again) {
			return true
		}
	}
	return false
}

// sinceMoved says of a reading, or a check of another known, that checks show its method to have moved within the lot, most likely by then.
func (l *links) sinceMoved(e Entry, checks []Checks) bool {
	for i := range checks {
		if c := &checks[i]; c.judges(e) && c.AwayOn(e.At) != nil && c.movedWithin(e.At) {
			return true
		}
	}
	return false
}

// late says so of a result.
func (l *links) late(e Entry, checks []Checks) bool {
	for i := range checks {
		if c := &checks[i]; c.judges(e) && c.movedWithin(e.At) {
			return true
		}
	}
	return false
}

// shownScatter is how readings of a method without a record scatter, as a share of
// themselves, by pairs with others: their logarithms' differences scatter by both.
func (l *links) shownScatter(results []Result, paired map[string][]int) {
	logs := map[string][]float64{}
	for _, at := range paired {
		for _, i := range at {
			r := results[i]
			if len(l.Records[r.Method]) > 0 {
				continue
			}
			own, ok := plainValue(r)
			for _, j := range at {
				other, fine := plainValue(results[j])
				if i != j && ok && fine && results[j].Method != r.Method {
					logs[r.Method] = append(logs[r.Method], math.Log(own/other))
				}
			}
		}
	}
	for method, values := range logs {
		if len(values) < fewestShown {
			continue
		}
		slices.Sort(values)
		mean, square := num.Mean(values), 0.0
		for _, v := range values {
			square += (v - mean) * (v - mean)
		}
		degrees := float64(len(values) - 1)
		l.scatter[method] = asShown{share: math.Sqrt(square / degrees), t: num.TQuantile(0.975, degrees)}
	}
}

// fewestShown pairs show how a method without a record scatters.
const fewestShown = 4

// plainValue is a result as one number above 0, by its record or as it is shown.
func plainValue(r Result) (float64, bool) {
	v := math.NaN()
	if r.Outcome != nil {
		v = r.Outcome.Result.Estimate
	} else if r.seen != nil {
		v = r.seen.Mid()
	}
	return v, v > 0 && !math.IsInf(v, 0)
}

// observed is one piece of evidence: Σ sign·yield of its setups = value, with the variance of
// its own errors and what it shares, by draw.
type observed struct {
	plus, minus int // setups; −1: none
	value, own  float64
	spread      []float64
	shared      []float64
	n           int
	pairs       bool
	known       float64
}

// observe puts the checks of a setup and a known together, and the pairs of two setups.
// Evidence is taken in logarithms: of what scatters by more than a quarter of itself there is
// none.
func (l *links) observe() (out []observed) {
	type checkOf struct {
		set   int
		known float64
	}
	rows := map[checkOf][]point{}
	var order []checkOf
	for _, p := range l.checks {
		k := checkOf{p.set, p.Known}
		if rows[k] == nil {
			order = append(order, k)
		}
		rows[k] = append(rows[k], p)
	}
	slices.SortFunc(order, func(a, b checkOf) int { return cmp.Or(a.set-b.set, cmp.Compare(a.known, b.known)) })
	shown := shownByChecks(l.checks)
	for _, k := range order {
		s := steadyCheck(rows[k], shown)
		if !(k.known > 0) || !(s.level > 4*math.Sqrt(s.variance)) {
			continue
		}
		o := observed{plus: k.set, minus: -1, value: math.Log(s.level / k.known), own: s.variance / (s.level * s.level), spread: s.spread, shared: make([]float64, draws), n: tests(rows[k]), known: k.known}
		s.shared(rows[k], unity, 1/s.level, o.shared)
		u := 0.0 // of all that were made of it
		for i, p := range rows[k] {
			u += s.weights[i] * p.UKnown
		}
		for d, z := range ownNormals("known", k.known) {
			o.shared[d] += z * u / k.known
		}
		out = append(out, o)
	}
	return append(out, l.observePairs()...)
}

func (l *links) observePairs() (out []observed) {
	rows := map[[2]int][]pair{}
	var order [][2]int
	for _, p := range l.pairs {
		if p.a.set > p.b.set {
			p.a, p.b = p.b, p.a
		}
		k := [2]int{p.a.set, p.b.set}
		if rows[k] == nil {
			order = append(order, k)
		}
		rows[k] = append(rows[k], p)
	}
	slices.SortFunc(order, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
	type methods struct{ a, b string }
	shown := map[methods]misfits{}
	of := func(k [2]int) methods {
		a, b := l.setups[k[0]].Method, l.setups[k[1]].Method
		return methods{min(a, b), max(a, b)}
	}
	var said []pairsSaid
	for _, k := range order {
		p := pairsSay(k, rows[k])
		said = append(said, p)
		if p.n > 0 {
			m := shown[of(k)]
			m.add(p.logs, p.weights)
			shown[of(k)] = m
		}
	}
	for i, k := range order {
		p := said[i]
		if p.plain {
			p.own = math.Max(p.own, shown[of(k)].variance()/p.total)
		}
		if p.n > 0 && !math.IsInf(p.own, 1) {
			out = append(out, p.observed)
		}
	}
	return out
}

// pairsSaid is what pairs of two setups say, with their log ratios.
type pairsSaid struct {
	observed
	logs, weights []float64
	total         float64 // of the weights
	plain         bool    // no record says how one side scatters
}

// pairsSay is the mean of the pairs' log ratios, weighted by what each scatters. Where they
// scatter more than their records say, by χ² at 5 %, they are held to what they show.
func pairsSay(k [2]int, pairs []pair) pairsSaid {
	o := pairsSaid{observed: observed{plus: k[1], minus: k[0], spread: make([]float64, draws), shared: make([]float64, draws), pairs: true}}
	for _, p := range pairs {
		ya, va, fineA := p.a.alone()
		yb, vb, fineB := p.b.alone()
		if !fineA || !fineB {
			continue
		}
		v := va/(ya*ya) + vb/(yb*yb)
		w := 1 / v
		if p.a.plain() || p.b.plain() {
			o.plain = true
			w = 1 / (v + unsaid*unsaid)
		}
		o.logs, o.weights = append(o.logs, math.Log(yb/ya)), append(o.weights, w)
		o.total += w
		o.own += w * w * v
		p.b.way.Shared(yb, w/yb, o.shared)
		p.a.way.Shared(ya, -w/ya, o.shared)
		for d := range o.spread {
			o.spread[d] += w * (p.a.way.Spreads()[d] + p.b.way.Spreads()[d]) / 2
		}
	}
	if o.n = len(o.logs); o.n == 0 {
		return o
	}
	for d := range o.shared {
		o.shared[d], o.spread[d] = o.shared[d]/o.total, o.spread[d]/o.total
	}
	for i, y := range o.logs {
		o.value += y * o.weights[i] / o.total
	}
	o.own /= o.total * o.total
	var m misfits
	m.add(o.logs, o.weights)
	if m.degrees > 0 && !o.plain && num.ChiSquareSurvival(m.square, m.degrees) < 0.05 {
		o.own *= m.square / m.degrees
	}
	return o
}

// unsaid is about what readings scatter of which nobody says it, so that pairs of them weigh about alike.
const unsaid = 0.05

// alone is a reading by itself as a number above 0 with its variance: the scatter is that at
// what it reads.
func (p point) alone() (c, variance float64, ok bool) {
	c = p.seen.Mid()
	w := p.seen.Width()
	own := p.own(c)
	variance = own*own + w*w/12
	return c, variance, c > 2*math.Sqrt(variance)
}

// ownNormals are the draws of an error that has a name of its own.
func ownNormals(name string, of ...float64) []float64 {
	task := make([]uint64, len(of))
	for i, v := range of {
		task[i] = math.Float64bits(v)
	}
	out := make([]float64, draws)
	for i, k := range num.Named(name, task...).Perm(draws) {
		out[i] = num.PhiInv((float64(k) + 0.5) / draws)
	}
	return out
}
