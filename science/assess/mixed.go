package assess

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
	"knownwater/science/record"
)

// leaves is the chance that a sample is diluted, by how its undiluted readings are distributed:
// that of an answer above the switch.
func (s switched) leaves() func(record.Normal) float64 {
	edges := make([]float64, max(1, len(s.plain.shares)))
	for i := range edges {
		edges[i] = s.over + s.plain.rec.Shown.Step/2
		if s.plain.inSteps() {
			edges[i] = math.Inf(-1)
			for k, a := range s.plain.answersAs(i) {
				if a.Seen.Low < a.Seen.High && s.stays(s.plain.rec.Shown.Answers[k]) {
					edges[i] = math.Max(edges[i], a.Seen.High)
				}
			}
		}
	}
	return func(d record.Normal) float64 { return num.QuickPhi((d.Mean - edges[d.Sharing]) / d.SD) }
}

// stays says whether a sample is not diluted after an answer.
func (s switched) stays(a record.Answer) bool {
	return a.Value <= s.over*(1+1e-9) && !a.Seen.OpenAbove()
}

// mixedAt is the E that 95 % of results at c keep within when readings a of the undiluted branch
// that stay there are joined by readings b of the diluted one for those that do not; u and d
// are the errors of each branch alone.
func (s switched) mixedAt(c float64, turns *[2]turn, u, d errorAt) func(a, b record.Normal) float64 {
	leaves, mixed := s.leaves(), s.mixedNumbers(c, turns)
	if s.plain.inSteps() {
		mixed = s.mixedSteps(c, turns)
	}
	return func(a, b record.Normal) float64 {
		switch left := leaves(a); {
		case left < seldom:
			return u.of(a)
		case left > 1-seldom:
			return d.of(b)
		default:
			return mixed(a, b, left)
		}
	}
}

// mixedNumbers is that of numbers: results as read may lie below nothing, corrected ones do not.
func (s switched) mixedNumbers(c float64, turned *[2]turn) func(a, b record.Normal, left float64) float64 {
	edge, jump := s.over+s.plain.rec.Shown.Step/2, 0.0
	turns := [2]turn{asRead, asRead}
	if turned != nil {
		jump, turns = c, *turned
	}
	steps := [2]float64{s.plain.rec.Shown.Step, s.diluted.rec.Shown.Step}
	var at [2][2]int // the pieces of the responses in which the ends were last
	guess := 0.0
	return func(a, b record.Normal, _ float64) float64 {
		branches := [2]record.Normal{a, b}
		var shown [2]rounded
		for i, n := range branches {
			shown[i] = roundedBy(n.SD, steps[i])
		}
		left, _ := shown[0].below(branches[0].Mean - edge) // as the rounded ones do, so that all is 1
		e := solve95(func(e float64) (p, slope float64) {
			for i, n := range branches {
				weight, most := 1.0, edge
				if i == 1 {
					weight, most = left, math.Inf(1)
				}
				below := func(v float64, side int) {
					y, s := turns[i].from(&at[i][side], v)
					if y > most {
						y, s = most, 0
					}
					q, d := shown[i].below(y - n.Mean)
					p, slope = p+weight*q, slope+math.Abs(weight)*d*s
					weight = -weight
				}
				below(c+e, 0)
				if turned == nil || c-e > 0 {
					below(c-e, 1)
				}
			}
			return p, slope
		}, cmp.Or(guess, 2*shown[0].sd), jump)
		if !math.IsInf(e, 1) && e > 0 {
			guess = e
		}
		return e
	}
}

// asRead turns nothing round.
var asRead = turn{[]float64{0, 1}, []float64{0, 1}}

// mixedSteps is that of answers in steps, each branch by the sharing of its draw.
func (s switched) mixedSteps(c float64, turned *[2]turn) func(a, b record.Normal, left float64) float64 {
	side := func(i int, st *study, stays func(record.Answer) bool) func(sharing int) *nested {
		miss := func(a record.Answer) float64 { return math.Abs(a.Value - c) }
		if turned != nil {
			t := turned[i]
			miss = func(a record.Answer) float64 { return math.Abs(t.value(a) - c) }
		}
		order, all := byMiss(st.rec.Shown.Answers, miss)
		order = slices.DeleteFunc(order, func(i int) bool { return !stays(st.rec.Shown.Answers[i]) })
		return func(sharing int) *nested { return nest(st.answersAs(sharing), all, order) }
	}
	plain, diluted := side(0, s.plain, s.stays), side(1, s.diluted, func(record.Answer) bool { return true })
	lists := map[[2]int]*both{}
	return func(a, b record.Normal, left float64) float64 {
		key := [2]int{a.Sharing, b.Sharing}
		list := lists[key]
		if list == nil {
			list = bothOf(plain(a.Sharing), diluted(b.Sharing))
			lists[key] = list
		}
		return list.within(a, b, left)
	}
}

// both are the answers of two branches by how far off they are.
type both struct {
	plain, diluted *nested
	miss           []float64
	last           int
}

func bothOf(plain, diluted *nested) *both {
	return &both{plain: plain, diluted: diluted, miss: slices.Compact(slices.Sorted(slices.Values(slices.Concat(plain.miss, diluted.miss))))}
}

// within is the smallest error that 95 % of results keep within.
func (l *both) within(a, b record.Normal, left float64) float64 {
	return leastError(l.miss, &l.last, func(k int) bool {
		return l.plain.upTo(l.miss[k], a)+left*l.diluted.upTo(l.miss[k], b) >= within
	})
}
