package assess

import (
	"math"

	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/record"
)

// apartDraws is how many draws of the record the chances of a right order are
// averaged over; apartChance is the chance asked for.
const (
	apartDraws  = 48
	apartChance = 0.95
	zApart      = 1.6448536269514722 // Φ⁻¹(0.95)
)

// apart says what one reading each can tell: the smallest rise from each level
// that is shown as a rise 95 times in 100, and every pair of levels. Between
// tests by one reader in one session the reader's and the session's parts
// cancel; vial and repeatability do not. Ties count as not told apart.
func (st *study) apart() {
	if st.rec == nil {
		return
	}
	for i, l := range st.levels {
		if l.value < st.rec.Bottom {
			continue
		}
		same, other := num.None, num.None
		order := [2]rightOrder{st.ordersFrom(l.value, st.rec.Spread.Same)}
		if st.readersKnown() {
			order[1] = st.ordersFrom(l.value, st.rec.Spread.All)
		}
		if i < len(st.levels)-1 {
			same = num.Number(st.smallestStep(l.value, order[0]))
			if order[1] != nil {
				other = num.Number(st.smallestStep(l.value, order[1]))
			}
		}
		st.finding.Steps = append(st.finding.Steps, Step{At: l.value, SmallestStep: same, OtherReader: other, Low: num.None, High: num.None})
		for _, h := range st.levels[i+1:] {
			st.finding.Pairs = append(st.finding.Pairs, st.pair(l.value, h.value, order))
		}
	}
	st.sayNotApart()
}

// readersKnown says whether the readings show how readers differ: without that
// nothing is said of another one.
func (st *study) readersKnown() bool {
	_, ok := st.factor["reader"]
	return ok
}

// sayNotApart names the neighbouring levels that one reading each leaves open.
func (st *study) sayNotApart() {
	var low, high []float64
	for _, p := range st.finding.Pairs {
		if neighbours := st.next(p.Low) == p.High; neighbours && p.RightOrder < apartChance {
			low, high = append(low, p.Low), append(high, p.High)
		}
	}
	if len(low) > 0 {
		st.note(note.New("not-apart").Number("low", low...).Number("high", high...))
	}
}

// next is the level above c.
func (st *study) next(c float64) float64 {
	for _, l := range st.levels {
		if l.value > c {
			return l.value
		}
	}
	return math.NaN()
}

type spreadAt func(draw int, c float64) float64

// rightOrder is the chance that a level is shown above another, and as the same.
type rightOrder func(high float64) (above, same float64)

// ordersFrom averages them over draws.
func (st *study) ordersFrom(low float64, sd spreadAt) rightOrder {
	r := st.rec
	n := min(apartDraws, r.Draws())
	from := make([]func(record.Normal) (above, same float64), n)
	for i := range from {
		from[i] = r.Shown.OrderFrom(reading1(r, i*r.Draws()/n, low, sd))
	}
	return func(high float64) (above, same float64) {
		for i, order := range from {
			a, s := order(reading1(r, i*r.Draws()/n, high, sd))
			above += a / float64(n)
			same += s / float64(n)
		}
		return above, same
	}
}

func reading1(r *record.Record, d int, c float64, sd spreadAt) record.Normal {
	y := r.At(d, c)
	return record.Normal{Mean: y, SD: sd(d, c)}
}

// smallestStep searches by halving; NaN where the highest level is not told
// apart either. It assumes that a larger rise is not harder to see.
func (st *study) smallestStep(from float64, order rightOrder) float64 {
	lo, hi := from, st.rec.Top
	if p, _ := order(hi); p < apartChance {
		return math.NaN()
	}
	for range 14 {
		mid := (lo + hi) / 2
		if p, _ := order(mid); p >= apartChance {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi - from
}

func (st *study) pair(low, high float64, order [2]rightOrder) Pair {
	p := Pair{Low: low, High: high, TestsASide: num.None}
	a, s := order[0](high)
	p.RightOrder, p.Tie = num.Number(a), num.Number(s)
	p.RightOrderOthers, p.TieOthers = num.None, num.None
	if order[1] != nil {
		a, s = order[1](high)
		p.RightOrderOthers, p.TieOthers = num.Number(a), num.Number(s)
	}
	p.TestsASide = num.Number(st.testsASide(low, high))
	if p.RightOrder < apartChance {
		p.TestsASide = max(p.TestsASide, 2)
	}
	return p
}

// testsASide is how many tests of each give averages in the right order 95
// times in 100: n ≥ z²(s1² + s2²)/Δ², z = Φ⁻¹(0.95), answers' widths w²/12 in
// the variances. NaN where the mean responses do not differ.
func (st *study) testsASide(low, high float64) float64 {
	r := st.rec
	y1, y2 := r.Best(low), r.Best(high)
	if !(y2 > y1) {
		return math.NaN()
	}
	variance := 0.0
	for _, c := range []float64{low, high} {
		sds := make([]float64, r.Draws())
		for d := range sds {
			sds[d] = r.Spread.Same(d, c)
		}
		sd, w := quantile(sds, 0.5), r.Shown.StepAt(r.Best(c))
		variance += sd*sd + w*w/12
	}
	n := math.Ceil(zApart * zApart * variance / ((y2 - y1) * (y2 - y1)))
	if n > 1e4 {
		return math.NaN()
	}
	return math.Max(1, n)
}
