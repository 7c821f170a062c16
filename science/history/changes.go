package history

import (
	"cmp"
	"math"
	"slices"
	"time"

	"knownwater/science/num"
	"knownwater/science/series"
)

// A span is results of a water that are taken together: at least fewestInSpan on at most
// longestSpan days.
const (
	fewestInSpan = 4
	longestSpan  = 35.0
)

// Change is what a water did from one span to a later one. NaN is what cannot be said.
type Change struct {
	Water         string
	From, Until   time.Time // the earlier span, first and last day
	Since, To     time.Time // the later one
	N, M          int       // results of the two
	Across        string    // the lot or method that came with the later one; empty: the same, or not named
	Came          bool      // one came
	Before, After float64   // the levels
	Difference    float64
	Low, High     float64 // 95 %
	U             float64
	PRise, PFall  float64
	PRiseMatters  float64 // of more than what matters; NaN: nobody says what does
	PFallMatters  float64
	Smallest      float64 // the smallest change that is called with 95 % chance
	Verdict       Told
	Whole         bool // from the first span to the last
}

// span is results taken together, within one group of setups.
type span struct {
	points []point
	block  int // between changes of setup
	group  int
	steady steady
	errors []float64 // shared, by draw
	day    float64   // the middle of its days
	kept   float64   // the share of a water's variance that is left in its mean
	more   float64   // by how much own variances were made larger than the records say
}

func (s *span) first() time.Time { return s.points[0].At }
func (s *span) last() time.Time  { return s.points[len(s.points)-1].At }
func (s *span) whole() bool      { return len(s.points) >= fewestInSpan }

// place puts the span in time.
func (s *span) place() *span {
	n := float64(len(s.points))
	sum := n
	for i, p := range s.points {
		s.day += p.day / n
		for _, q := range s.points[:i] {
			sum += 2 * remembered(p.day-q.day)
		}
	}
	s.kept, s.more = sum/(n*n), 1
	return s
}

// blocks are the results of a water between first uses of its setups.
func blocks(points []point) (out [][]point) {
	used := map[int]bool{}
	for i, p := range points {
		if i == 0 || !used[p.set] {
			out = append(out, nil)
		}
		used[p.set] = true
		out[len(out)-1] = append(out[len(out)-1], p)
	}
	return out
}

// cut divides a block into spans of nearly equal numbers of results, as few as their
// length allows; of results too thin for that the last of each part are taken.
func cut(points []point) (out [][]point) {
	n := len(points)
	length := points[n-1].day - points[0].day
	parts := max(1, int(math.Ceil(length/longestSpan)))
	for parts > 1 && n < fewestInSpan*parts {
		parts--
	}
	for k := range parts {
		part := points[k*n/parts : (k+1)*n/parts]
		for part[len(part)-1].day-part[0].day > longestSpan {
			part = part[1:]
		}
		out = append(out, part)
	}
	return out
}

// spansOf are the spans of a water, in order of time. Where a block is too short for one its
// results stand together all the same, to be held against its neighbours.
func (l *links) spansOf(points []point) (out []*span) {
	for b, block := range blocks(points) {
		groups := map[int][]point{}
		var order []int
		for _, p := range block {
			g := l.group[p.set]
			if groups[g] == nil {
				order = append(order, g)
			}
			groups[g] = append(groups[g], p)
		}
		for _, g := range order {
			var whole []*span
			parts := cut(groups[g])
			for _, part := range parts {
				if s := (&span{points: part, block: b, group: g}).place(); s.whole() {
					whole = append(whole, s)
				}
			}
			if whole == nil {
				whole = []*span{(&span{points: parts[len(parts)-1], block: b, group: g}).place()}
			}
			out = append(out, whole...)
		}
	}
	slices.SortStableFunc(out, func(a, b *span) int { return cmp.Or(a.block-b.block, cmp.Compare(a.day, b.day)) })
	overs := l.overs(points)
	for _, s := range out {
		l.settle(s, withOver(s.points, overs))
	}
	scatter(out)
	return out
}

// settle works out the level of a span and what it shares with others, from its points with what was
// seen before samples were diluted.
func (l *links) settle(s *span, points []point) {
	s.steady = steadyOf(points, l.yieldOf)
	s.errors = make([]float64, draws)
	if math.IsNaN(s.steady.level) {
		return
	}
	s.steady.shared(points, l.yieldOf, 1, s.errors)
	byNitrite(points, func(i int) float64 { return s.steady.weights[i] }, s.errors)
	lots := map[int]float64{}
	for i, p := range points {
		lots[p.set] += s.steady.weights[i]
	}
	for set, w := range sorted(lots) {
		for d, e := range l.off[set] {
			s.errors[d] -= w * s.steady.level * e
		}
	}
	open := 0
	for _, p := range s.points {
		if p.open {
			open++
		}
	}
	if 2*open > len(s.points) { // it lies beyond what can be told
		s.steady.level = math.NaN()
	}
}

// scatter makes the own errors of spans as large as results show them where that is more than
// the methods' records say: within spans readings are held against their level. With ν₀
// degrees of freedom behind the records' scatter and ν behind the results', the variance is
// (ν₀·1 + ν·r)/(ν₀ + ν) of what the records say, r the mean square within spans to it, and
// never less than 1: steps of a chart hide scatter. Of the spans the half that scatters most
// is left out, as the water may have been on its way there; r is held against the mean of the rest.
func scatter(spans []*span) {
	var ratios []float64
	var degrees []int
	var spread []float64
	all := 0
	for _, s := range spans {
		if s.whole() && s.steady.degrees >= 2 && !math.IsNaN(s.steady.level) {
			ratios = append(ratios, s.steady.misfit/float64(s.steady.degrees))
			degrees = append(degrees, s.steady.degrees)
			all += s.steady.degrees
			spread = s.steady.spread
		}
	}
	if len(ratios) == 0 {
		return
	}
	rng := num.Source(35, uint64(len(ratios)))
	seen, expected := lowest(ratios), 0.0
	for range simulated {
		for i, df := range degrees {
			ratios[i] = 0
			for range df {
				z := rng.NormFloat64()
				ratios[i] += z * z / float64(df)
			}
		}
		expected += lowest(ratios) / simulated
	}
	_, sd := num.MeanSD(spread)
	before := math.Min(1e9, 1/(2*sd*sd))
	more := math.Max(1, (before+float64(all)*seen/expected)/(before+float64(all)))
	for _, s := range spans {
		s.steady.variance *= more
		s.more = more
	}
}

const simulated = 400

// lowest is the mean of the smaller half: a change that straddles spans, or that comes and
// goes, is in several of them.
func lowest(values []float64) float64 {
	sorted := slices.Sorted(slices.Values(values))
	return num.Mean(sorted[:len(sorted)-len(sorted)/2])
}

// remembered is how much of a departure is left after days.
func remembered(days float64) float64 { return math.Exp(-math.Abs(days) / series.Memory) }

// changesOf says what a water did: from each span to the next, from the first to the last,
// and across every change of lot or method. points are the results that are used, in order.
//
// A difference has the error parts of both spans, draw by draw, so that what they share
// falls out; how the water departs from its level for a while is no change and counts as
// doubt. All calls of one water together are wrong in at most 5 of 100 logs in which nothing changed
// (callAll).
func (l *links) changesOf(water string, points []point, matters float64) []Change {
	spans := l.spansOf(points)
	var out []Change
	var told []couple
	add := func(a, b *span, whole bool) {
		c := untold(water, a, b)
		c.Whole = whole
		if a.group == b.group && l.scaled(a) && l.scaled(b) {
			if c.Verdict = Undecided; !math.IsNaN(a.steady.level) && !math.IsNaN(b.steady.level) {
				told = append(told, couple{len(out), a, b})
			}
		}
		out = append(out, c)
	}
	var before *span
	firstOf, lastOf := map[int]*span{}, map[int]*span{}
	count := map[int]int{}
	for i, s := range spans {
		if i > 0 && (s.block != before.block || s.whole() && before.whole() && s.group == before.group) {
			add(before, s, false)
		}
		if s.whole() {
			if firstOf[s.group] == nil {
				firstOf[s.group] = s
			}
			lastOf[s.group] = s
			count[s.group]++
		}
		before = s
	}
	if a, b := ends(spans); a != nil && (len(spans) > 2 || a.group != b.group) {
		if a.group == b.group && count[a.group] > 2 || a.group != b.group && a.block+1 < b.block {
			add(a, b, true)
		}
	}
	for g := range sorted(count) { // within each group, where the whole of it cannot be told
		if a, b := ends(spans); count[g] > 2 && a.group != b.group {
			add(firstOf[g], lastOf[g], true)
		}
	}
	judge(out, told, wander(spans), matters)
	return out
}

// untold is a change of which nothing is said yet.
func untold(water string, a, b *span) Change {
	nan := math.NaN()
	return Change{Water: water, From: a.first(), Until: a.last(), Since: b.first(), To: b.last(), N: len(a.points), M: len(b.points), Across: across(a, b), Came: a.block != b.block,
		Before: nan, After: nan, Difference: nan, Low: nan, High: nan, U: nan, PRise: nan, PFall: nan, PRiseMatters: nan, PFallMatters: nan, Smallest: nan, Verdict: CannotBeTold}
}

// ends are the first and the last whole span; nil: there are not two.
func ends(spans []*span) (a, b *span) {
	for _, s := range spans {
		if s.whole() {
			if a == nil {
				a = s
			}
			b = s
		}
	}
	if a == b {
		return nil, nil
	}
	return a, b
}

// across names what changed from one span to the other.
func across(a, b *span) string {
	was, is := a.points[len(a.points)-1], b.points[0]
	switch {
	case a.block == b.block:
		return ""
	case was.Method != is.Method:
		return is.Method
	case was.Lot != is.Lot:
		return is.Lot
	}
	return ""
}

// scaled says that the readings of a span mean something in concentrations.
func (l *links) scaled(s *span) bool {
	for _, p := range s.points {
		if a, plain := p.way.(asShown); plain && !(a.share > 0) {
			return false
		}
	}
	return true
}

// couple is a change whose numbers can be told.
type couple struct {
	at   int
	a, b *span
}

// trials of a log in which nothing changes, to find how far differences go together.
const rounds = 8 // for each draw

func judge(out []Change, told []couple, wander departs, matters float64) {
	if len(told) == 0 {
		return
	}
	index := map[*span]int{}
	var spans []*span
	for _, c := range told {
		for _, s := range []*span{c.a, c.b} {
			if _, there := index[s]; !there {
				index[s] = 0
				spans = append(spans, s)
			}
		}
	}
	slices.SortStableFunc(spans, func(a, b *span) int { return cmp.Compare(a.day, b.day) })
	for i, s := range spans {
		index[s] = i
	}
	for _, c := range told {
		out[c.at].numbers(c, wander, matters)
	}
	callAll(out, told, nothing(out, told, spans, index, wander), matters)
}

// apart is the variance of a difference by how the water departs from its level.
func (c couple) apart(wander float64) float64 {
	va, vb := wander*c.a.kept, wander*c.b.kept
	return math.Max(0, va+vb-2*math.Sqrt(va*vb)*remembered(c.b.day-c.a.day))
}

func (c *Change) numbers(of couple, wander departs, matters float64) {
	a, b := of.a.steady, of.b.steady
	c.Before, c.After, c.Difference = a.level, b.level, b.level-a.level
	var e series.Estimate
	apart := of.apart(1)
	for d := range draws {
		shared := of.b.errors[d] - of.a.errors[d]
		e.Add(1, c.Difference-shared, math.Sqrt(a.variance*a.spread[d]*a.spread[d]+b.variance*b.spread[d]*b.spread[d]+apart*wander.in(d)))
	}
	e.Summarise()
	c.Low, c.High, c.U = e.Low, e.High, e.U
	c.PFall = e.Below(0)
	c.PRise = 1 - c.PFall
	if matters > 0 {
		c.PFallMatters, c.PRiseMatters = e.Below(-matters), 1-e.Below(matters)
	}
}

// callAll says which of the differences of a water are called a rise or a fall: those that exceed their
// standard uncertainty by more than the largest |difference|/u of all would in 95 of 100 logs in which nothing
// changes (single-step simultaneous comparison; P. H. Westfall & S. S. Young, Resampling-Based Multiple
// Testing, 1993), of which nulls are many. Differences from a first span to a last and those of neighbours share the 5 %
// evenly: the first is what is asked of a log, and one in ten of it would be little. Where some are called,
// the others are held against what is left of them (step-down; the same book, section 2.6):
// what has changed is no part of what may be called wrongly.
func callAll(out []Change, told []couple, nulls [][]float64, matters float64) {
	scale := make([]float64, len(told))
	var wholes, steps, left []int
	for i, c := range told {
		scale[i] = 1
		left = append(left, i)
		if out[c.at].Whole {
			wholes = append(wholes, i)
		} else {
			steps = append(steps, i)
		}
	}
	if wholes != nil && steps != nil {
		k := limitOf(nulls, wholes, scale, 0.975) / limitOf(nulls, steps, scale, 0.975)
		for _, i := range wholes {
			scale[i] = k
		}
	}
	for first := true; len(left) > 0; first = false {
		limit := limitOf(nulls, left, scale, 0.95)
		var open []int
		for _, i := range left {
			c := &out[told[i].at]
			if first {
				c.Smallest = (limit*scale[i] + 1.644853626951) * c.U
			}
			if c.call(limit*scale[i], matters); c.Verdict != Rose && c.Verdict != Fell {
				open = append(open, i)
			}
		}
		if len(open) == len(left) {
			return
		}
		left = open
	}
}

// limitOf is the value that the largest |difference|/u/scale of these stays below in a share of logs in
// which nothing changes.
func limitOf(nulls [][]float64, of []int, scale []float64, share float64) float64 {
	largest := make([]float64, len(nulls))
	for r, row := range nulls {
		for _, i := range of {
			largest[r] = math.Max(largest[r], row[i]/scale[i])
		}
	}
	slices.Sort(largest)
	return num.Quantile(largest, share)
}

// nothing is |difference|/u of each difference, in logs in which nothing changes.
func nothing(out []Change, told []couple, spans []*span, index map[*span]int, wander departs) (rows [][]float64) {
	rng := num.Source(53, uint64(len(told)))
	errs := make([]float64, len(spans))
	for d := range draws {
		for range rounds {
			away := 0.0
			for i, s := range spans {
				if i > 0 {
					phi := remembered(s.day - spans[i-1].day)
					away = phi*away + math.Sqrt(1-phi*phi)*rng.NormFloat64()
				} else {
					away = rng.NormFloat64()
				}
				errs[i] = s.errors[d] + math.Sqrt(s.steady.variance)*s.steady.spread[d]*rng.NormFloat64()
				errs[i] += math.Sqrt(wander.in(d)*s.kept) * away
			}
			row := make([]float64, len(told))
			for i, c := range told {
				row[i] = math.Abs(errs[index[c.b]]-errs[index[c.a]]) / out[c.at].U
			}
			rows = append(rows, row)
		}
	}
	return rows
}

// call says what a change comes to. limit is by how many standard uncertainties a difference
// must exceed 0 to be called.
func (c *Change) call(limit, matters float64) {
	switch {
	case c.Difference > limit*c.U:
		c.Verdict = Rose
	case c.Difference < -limit*c.U:
		c.Verdict = Fell
	case matters > 0 && c.Low > -matters && c.High < matters:
		c.Verdict = SameForNeed
	}
}
