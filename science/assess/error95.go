package assess

import (
	"math"
	"sort"
	"sync"

	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// within is the share of single results that error_95 holds for.
const within = 0.95

// errorAt is error_95 at one concentration: the E within which 95 % of single
// results lie, as a function of how readings are distributed there. centre is the
// mean reading that would give results without bias.
type errorAt struct {
	centre float64
	of     func(dist record.Normal) float64
}

// rawAt is that of results as read.
func (st *study) rawAt(c float64) errorAt {
	shown := st.rec.Shown
	if st.inSteps() {
		return errorAt{c, st.within(func(a record.Answer) float64 { return math.Abs(a.Value - c) })}
	}
	rounding := shown.Step / math.Sqrt(12)
	return errorAt{c, func(dist record.Normal) float64 {
		sd := math.Hypot(dist.SD, rounding)
		return sd * half95(math.Abs(dist.Mean-c)/sd)
	}}
}

// correctedAt is that of results turned round through t, the response that c is turned
// round by. What was worked out at a place is kept: averages and single results ask alike.
func (st *study) correctedAt(t turn, c float64) errorAt {
	if st.ahead != nil { // another response each time
		return st.errorCorrected(t, c)
	}
	if e, ok := st.corrected[c]; ok {
		return e
	}
	if st.corrected == nil {
		st.corrected = map[float64]errorAt{}
	}
	e := st.errorCorrected(t, c)
	st.corrected[c] = e
	return e
}

func (st *study) errorCorrected(t turn, c float64) errorAt {
	shown, centre := st.rec.Shown, t.at(c)
	if st.inSteps() {
		return errorAt{centre, st.within(func(a record.Answer) float64 { return math.Abs(t.value(a) - c) })}
	}
	rounding := shown.Step / math.Sqrt(12)
	near := t.grid[len(t.grid)-1] / 50
	slope := math.Max((t.at(c+near)-t.at(math.Max(0, c-near)))/(near+math.Min(c, near)), 1e-12)
	direct := func(mean, sd float64) float64 {
		return solve95(func(e float64) float64 {
			p := posterior.Phi((t.at(c+e) - mean) / sd)
			if c-e > 0 {
				p -= posterior.Phi((t.at(c-e) - mean) / sd)
			}
			return p
		}, math.Min(math.Max(sd*half95(math.Abs(mean-centre)/sd)/slope, 1e-12), 100*near))
	}
	look := newErrorGrid(centre, direct)
	return errorAt{centre, func(dist record.Normal) float64 { return look.at(dist.Mean, math.Hypot(dist.SD, rounding)) }}
}

// half95 is the h with Φ(h − b) − Φ(−h − b) = 95 %: half the middle of a normal
// with bias b, both in standard deviations; tabulated, linear between, good to 1e-6.
func half95(b float64) float64 {
	const end, steps = 4.0, 1024
	table := half95Table()
	if !(b < end) {
		return b + 1.6448536269514722
	}
	at := b * steps
	i := int(at)
	return table[i] + (at-float64(i))*(table[i+1]-table[i])
}

var half95Table = sync.OnceValue(func() []float64 {
	const end, steps = 4.0, 1024
	table := make([]float64, end*steps+2)
	for i := range table {
		b := float64(i) / steps
		lo, hi := b, b+3
		for range 50 {
			if mid := (lo + hi) / 2; cover95(mid, b) < within {
				lo = mid
			} else {
				hi = mid
			}
		}
		table[i] = (lo + hi) / 2
	}
	return table
})

func cover95(h, b float64) float64 { return num.Phi(h-b) - num.Phi(-h-b) }

// answersByMiss are a method's answers by how far off they are, the nearest first.
type answersByMiss struct {
	miss      []float64
	low, high []float64
}

// within is error_95 of answers in steps. How far off an answer is, is told by what it is
// taken for; how often it is given, by the sharing of the gaps, which each draw has.
func (st *study) within(miss func(record.Answer) float64) func(record.Normal) float64 {
	order := make([]int, len(st.rec.Shown.Answers))
	all := make([]float64, len(order))
	for i, a := range st.rec.Shown.Answers {
		order[i], all[i] = i, miss(a)
	}
	sort.SliceStable(order, func(i, j int) bool { return all[order[i]] < all[order[j]] })
	lists := make([]*answersByMiss, max(1, len(st.shares)))
	return func(dist record.Normal) float64 {
		list := lists[dist.Sharing]
		if list == nil {
			list = &answersByMiss{}
			answers := st.answersAs(dist.Sharing)
			for _, i := range order {
				list.miss = append(list.miss, all[i])
				list.low, list.high = append(list.low, answers[i].Seen.Low), append(list.high, answers[i].Seen.High)
			}
			lists[dist.Sharing] = list
		}
		return list.within(dist)
	}
}

// within is the smallest error that at least 95 % of answers keep within.
func (a answersByMiss) within(dist record.Normal) float64 {
	sum := 0.0
	for i := range a.miss {
		sum += posterior.Phi((a.high[i]-dist.Mean)/dist.SD) - posterior.Phi((a.low[i]-dist.Mean)/dist.SD)
		if sum >= within {
			return a.miss[i]
		}
	}
	return math.Inf(1)
}

// solve95 finds where a rising probability reaches 95 %, from a guess, good to a
// ten-thousandth; infinite where it never does.
func solve95(p func(e float64) float64, guess float64) float64 {
	lo, hi := 0.0, guess
	flo, at := math.NaN(), p(hi) // flo: what p(lo) is, where it was asked
	for i := 0; at < within; i++ {
		if i == 40 {
			return math.Inf(1)
		}
		lo, flo, hi = hi, at, 1.4*hi
		if i > 6 {
			hi *= 2
		}
		at = p(hi)
	}
	if lo == 0 { // the guess was high: go down
		for i := 0; i < 60; i++ {
			down := hi / 1.2
			f := p(down)
			if f < within {
				lo, flo = down, f
				break
			}
			hi, at = down, f
		}
	}
	if math.IsNaN(flo) {
		flo = p(lo)
	}
	flo -= within
	fhi := at - within
	for range 40 {
		if hi-lo <= 1e-4*hi || fhi == flo {
			break
		}
		mid := lo - flo*(hi-lo)/(fhi-flo) // the secant, kept off the ends
		mid = math.Min(math.Max(mid, lo+0.05*(hi-lo)), hi-0.05*(hi-lo))
		if f := p(mid) - within; f < 0 {
			lo, flo = mid, f
		} else {
			hi, fhi = mid, f
		}
	}
	return hi
}
