package history

import (
	"math"
	"time"
)

// Span is a stretch of days, the first and the last counted in.
type Span struct{ From, To time.Time }

func (s Span) holds(at time.Time) bool {
	day := dayOf(at)
	return !day.Before(dayOf(s.From)) && !day.After(dayOf(s.To))
}

// Compare says what a water did from one stretch of days to a later one, by itself: 1 of 20
// such comparisons of an unchanged water is called by chance. Not ok: one of the two holds no
// result that is used.
func Compare(log []Entry, m Methods, water string, earlier, later Span) (c Change, ok bool, err error) {
	h, l, err := linked(log, m)
	if err != nil {
		return c, false, err
	}
	a, b := &span{}, &span{block: 1}
	groups := map[int]bool{}
	points := l.used(h.Results)[water]
	for _, p := range points {
		switch {
		case earlier.holds(p.At):
			a.points = append(a.points, p)
		case later.holds(p.At):
			b.points = append(b.points, p)
		default:
			continue
		}
		groups[l.group[p.set]] = true
	}
	if a.points == nil || b.points == nil {
		return c, false, nil
	}
	a.place()
	b.place()
	c = untold(water, a, b)
	if len(groups) > 1 || !l.scaled(a) || !l.scaled(b) {
		return c, true, nil
	}
	overs, _ := l.overs(points)
	l.settle(a, withOver(a.points, overs))
	l.settle(b, withOver(b.points, overs))
	scatter([]*span{a, b})
	out := []Change{c}
	out[0].Verdict = Undecided
	if !math.IsNaN(a.steady.level) && !math.IsNaN(b.steady.level) {
		l.judge(out, []couple{{0, a, b}}, l.spansOf(points, overs), m.Matters)
	}
	return out[0], true, nil
}
