package assess

import (
	"math"
	"sort"
	"sync"

	"knownwater/science/num"
	"knownwater/science/record"
)

// within is the share of single results that error_95 holds for.
const within = 0.95

// errorAt is error_95 at one concentration: the E within which 95 % of single
// results lie, as a function of how readings are distributed there. centre is the
// mean reading that would give results without bias.
type errorAt struct {
	centre  float64
	of      func(dist record.Normal) float64
	in      func(mean float64, r rounded) float64 // of numbers that are rounded otherwise; else nil
	inSteps bool                                  // of answers in steps
}

// least is a draw as it is told against a method: with less bias (lessBias), but of answers in steps as it is. A mean nearer to the known
// may err by a whole step more there, since an answer further off is then given oftener.
func (e errorAt) least(d record.Normal, varMean float64) record.Normal {
	if e.inSteps {
		return d
	}
	return lessBias(d, e.centre, varMean)
}

// rawAt is that of results as read.
func (st *study) rawAt(c float64) errorAt {
	if st.inSteps() {
		return errorAt{centre: c, of: st.within(func(a record.Answer) float64 { return math.Abs(a.Value - c) }), inSteps: true}
	}
	direct := func(mean float64, r rounded) float64 { return r.half95(math.Abs(mean - c)) }
	return st.errorOfNumbers(c, func(mean, sd float64) float64 { return sd * half95(math.Abs(mean-c)/sd) }, direct)
}

// correctedAt is that of results turned round through the response that c is turned round by, and
// told through the one that was found. What was worked out at a place is kept: averages and single results ask alike.
func (st *study) correctedAt(c float64) (e, told errorAt) {
	if e, ok := st.corrected[c]; ok && st.ahead == nil { // ahead it is another response each time
		return e[0], e[1]
	}
	without, found := st.turnsAt(c)
	e = st.errorCorrected(without, c)
	if told = e; !found.is(without) {
		told = st.errorCorrected(found, c)
	}
	if st.ahead == nil {
		if st.corrected == nil {
			st.corrected = map[float64][2]errorAt{}
		}
		st.corrected[c] = [2]errorAt{e, told}
	}
	return e, told
}

func (st *study) errorCorrected(t turn, c float64) errorAt {
	centre := t.at(c)
	if st.inSteps() {
		return errorAt{centre: centre, of: st.within(func(a record.Answer) float64 { return math.Abs(t.value(a) - c) }), inSteps: true}
	}
	direct := newCorrectedError(t, c).of
	plain := func(mean, sd float64) float64 { return direct(mean, roundedBy(sd, 0)) }
	if st.ahead == nil { // there draws are few
		plain = (&errorGrid{centre: centre, scale: st.top(), direct: plain}).at
	}
	return st.errorOfNumbers(centre, plain, direct)
}

// errorOfNumbers is that of numbers: of those that are as good as normal, and of others, by a grid where they are single results.
func (st *study) errorOfNumbers(centre float64, plain func(mean, sd float64) float64, direct func(mean float64, r rounded) float64) errorAt {
	step := st.rec.Shown.Step
	single := func(mean, scatter float64) float64 { return direct(mean, roundedBy(scatter, step)) }
	if st.ahead == nil {
		single = (&errorGrid{centre: centre, scale: st.top(), direct: single}).at
	}
	in := func(mean float64, r rounded) float64 {
		switch {
		case r.plain():
			return plain(mean, r.sd)
		case r.step == step:
			return single(mean, r.scatter)
		}
		return direct(mean, r)
	}
	return errorAt{centre: centre, of: func(dist record.Normal) float64 { return in(dist.Mean, roundedBy(dist.SD, step)) }, in: in}
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

// nested are the answers of a method by how far off they are: of each error, the interval
// of all answers that keep within it. Answers tile the axis in the order of what they are taken
// for, so that those within an error lie side by side.
type nested struct {
	miss, low, high []float64
	last            int // the error found last: the next one is looked for from there
}

// nest orders answers by how far off they are, miss; open ones at the ends are infinite.
func nest(answers []record.Answer, miss []float64, order []int) *nested {
	n := &nested{}
	low, high := math.Inf(1), math.Inf(-1)
	for k, i := range order {
		if a := answers[i].Seen; a.Low < a.High { // one that a sharing leaves no room for is not given
			low, high = math.Min(low, a.Low), math.Max(high, a.High)
		}
		if k+1 < len(order) && miss[order[k+1]] == miss[i] {
			continue
		}
		n.miss, n.low, n.high = append(n.miss, miss[i]), append(n.low, low), append(n.high, high)
	}
	return n
}

// within is error_95 of answers in steps. How far off an answer is, is told by what it is
// taken for; how often it is given, by the sharing of the gaps, which each draw has.
func (st *study) within(miss func(record.Answer) float64) func(record.Normal) float64 {
	order, all := byMiss(st.rec.Shown.Answers, miss)
	lists := make([]*nested, max(1, len(st.shares)))
	return func(dist record.Normal) float64 {
		list := lists[dist.Sharing]
		if list == nil {
			list = nest(st.answersAs(dist.Sharing), all, order)
			lists[dist.Sharing] = list
		}
		return list.within(dist)
	}
}

// byMiss are the answers' places in the order of how far off they are, and how far that is.
func byMiss(answers []record.Answer, miss func(record.Answer) float64) (order []int, all []float64) {
	order, all = make([]int, len(answers)), make([]float64, len(answers))
	for i, a := range answers {
		order[i], all[i] = i, miss(a)
	}
	sort.SliceStable(order, func(i, j int) bool { return all[order[i]] < all[order[j]] })
	return order, all
}

// within is the smallest error that at least 95 % of answers keep within.
func (n *nested) within(dist record.Normal) float64 {
	return leastError(n.miss, &n.last, func(k int) bool { return n.chance(k, dist) >= within })
}

func (n *nested) chance(k int, dist record.Normal) float64 {
	return num.QuickPhi((n.high[k]-dist.Mean)/dist.SD) - num.QuickPhi((n.low[k]-dist.Mean)/dist.SD)
}

// upTo is the chance of an answer that is off by no more than e.
func (n *nested) upTo(e float64, dist record.Normal) float64 {
	k := sort.SearchFloat64s(n.miss, e)
	if k == len(n.miss) || n.miss[k] > e {
		k--
	}
	if k < 0 {
		return 0
	}
	return n.chance(k, dist)
}

// leastError is the first of rising errors that enough keep within, looked for from *last on;
// infinite where there is none.
func leastError(errors []float64, last *int, enough func(k int) bool) float64 {
	k := *last
	if enough(k) {
		for k > 0 && enough(k-1) {
			k--
		}
	} else {
		for k++; k < len(errors) && !enough(k); k++ {
		}
		if k == len(errors) {
			return math.Inf(1)
		}
	}
	*last = k
	return errors[k]
}
