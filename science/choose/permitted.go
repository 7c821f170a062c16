package choose

import (
	"math"
	"slices"

	"knownwater/science/assess"
)

// Loosened is by what the permitted errors would have to be multiplied for another way to
// become the one to take: up to 1 for the nearest that is stricter, above 1 for the nearest that is
// looser. From and To are of Ways, the stricter first; −1: none would do.
type Loosened struct {
	Times    float64
	From, To int
}

// loosened looks for the two next to what is permitted now. A way that does would do as long
// as the upper limit of its error stays within what is permitted, at every place of the need; one that
// does not, from there on. A verdict that hangs on something else (a lot, a question, an end
// that was not tried) stays as it is.
func loosened(n NeedChoice) (out []Loosened) {
	from := make([]float64, len(n.Ways))
	var at []float64
	for i, w := range n.Ways {
		from[i] = w.wouldDoFrom()
		if w.Inside() && !math.IsInf(from[i], 0) {
			at = append(at, from[i])
		}
	}
	slices.Sort(at)
	at = slices.Compact(at)
	best := func(times float64) int {
		best := -1
		for i, w := range n.Ways {
			if w.Inside() && from[i] <= times && (best < 0 || before(w, n.Ways[best]) < 0) {
				best = i
			}
		}
		return best
	}
	was := -1
	var stricter, looser *Loosened
	for _, times := range at {
		is := best(times)
		if is == was {
			continue
		}
		x := Loosened{times, was, is}
		was = is
		switch {
		case times <= 1:
			stricter = &x
		case looser == nil:
			looser = &x
		}
	}
	for _, x := range []*Loosened{stricter, looser} {
		if x != nil {
			out = append(out, *x)
		}
	}
	return out
}

// MayDoWithLess says whether an average that was worked out as read only (of what is fit as read, or undecided both ways, findings hold
// no more) is named, or would be taken before the stricter of the two if, corrected by its record, it does with less. What wrong calls
// by it as read cost does not hold then: its money alone counts.
func (n NeedChoice) MayDoWithLess(x Loosened) bool {
	for i, w := range n.Ways {
		if w.Tests > 1 && !w.Corrected && w.Curve == "" && w.Inside() && !math.IsInf(w.wouldDoFrom(), 0) &&
			(i == x.From || i == x.To || x.From < 0 || before(w, n.Ways[x.From]) < 0 || compareNumbers(w.Cost.Money, n.Ways[x.From].moneyAndLoss()) < 0) {
			return true
		}
	}
	return false
}

// wouldDoFrom is the multiple of the permitted errors from which on a way is fit; infinite
// where that would not help.
func (w Way) wouldDoFrom() float64 {
	if w.Verdict == assess.HeldBack || w.Verdict == assess.NotTried || len(w.Along) == 0 {
		return math.Inf(1)
	}
	most := 0.0
	if w.Tests > 1 {
		most = w.spare()
	} else {
		for _, a := range w.Along {
			high := a.RawHigh
			if w.Corrected {
				high = a.CorrHigh
			}
			if !high.OK() {
				return math.Inf(1)
			}
			most = math.Max(most, float64(high)/a.Permitted)
		}
	}
	if !w.Can() && most <= 1 || w.Can() && most > 1 {
		return math.Inf(1)
	}
	return most
}
