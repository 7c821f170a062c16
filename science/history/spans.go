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
// results stand together all the same, to be held against its neighbours. overs are what was seen before samples of it were diluted.
func (l *links) spansOf(points []point, overs map[int]point) (out []*span) {
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
