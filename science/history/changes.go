package history

import (
	"math"
	"time"
)

// Change is what a water did from one span to a later one. NaN is what cannot be said.
type Change struct {
	Water         string
	From, Until   time.Time // the earlier span, first and last day
	Since, To     time.Time // the later one
	N, M          int       // results of the two
	Across        string    // the lot, method or reader that came with the later one; empty: the same, or not named
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

// changesOf says what a water did: from each span to the next, from the first to the last,
// and across every change of lot or method. points are the results that are used, in order, overs what was seen before samples
// of them were diluted.
//
// A difference has the error parts of both spans, draw by draw, so that what they share
// falls out; how the water departs from its level for a while is no change and counts as
// doubt. All calls of one water together are wrong in at most 5 of 100 logs in which nothing changed
// (callAll).
func (l *links) changesOf(water string, points []point, overs map[int]point, matters float64) []Change {
	spans := l.spansOf(points, overs)
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
	l.judge(out, told, spans, matters)
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
	case was.Reader != is.Reader:
		return is.Reader
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
