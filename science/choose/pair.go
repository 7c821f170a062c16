package choose

import (
	"math"

	"knownwater/science/assess"
)

// Pair is a cheap way for every day with a good one to confirm: what the cheap one reads
// between From and To stands, everything else is confirmed.
type Pair struct {
	Everyday, Confirm int     // of Ways
	From, To          float64 // results of the everyday way that stand; From is 0 where nothing lies below the need
	Share             float64 // of answers that are confirmed
	Money             float64 // a year, of both
	Alone             float64 // a year, of the confirming way alone
}

// pairOf is the pair of the least money, where it costs less than the way to use alone.
//
// The guard band g at a limit is the upper 95 % limit of the everyday way's error there, so
// a water beyond the limit is left alone in at most 5 of 100 cases (JCGM 106:2012, clause
// 8, with r·u replaced by the error itself, which holds the bias). The share that is
// confirmed is that of results outside, over waters that lie as they usually do or, where nobody says how, evenly in the need.
func pairOf(n NeedChoice) *Pair {
	month := n.Need.TestsAMonth
	use, ok := n.Used()
	if !ok || !(month > 0) || !use.Cost.Money.OK() {
		return nil
	}
	alone, _ := use.MoneyAt(month)
	best := alone * (1 - 1e-9)
	var out *Pair
	for i, w := range n.Ways {
		if w.Tests != 1 || w.Method == use.Method || w.Verdict == assess.HeldBack || w.Verdict == assess.NotTried || !w.insideBut("") {
			continue
		}
		from, to, share, ok := w.everyday(n)
		every, priced := w.MoneyAt(month)
		if !ok || !priced || share > 0.5 {
			continue
		}
		confirm, _ := use.MoneyAt(month * share)
		if sum := every + confirm; sum < best {
			best = sum
			out = &Pair{Everyday: i, Confirm: n.Use, From: from, To: to, Share: share, Money: sum, Alone: alone}
		}
	}
	return out
}

// everyday is between which results a way can be left alone, and how often it leads beyond.
func (w Way) everyday(n NeedChoice) (from, to, share float64, ok bool) {
	if len(w.Along) == 0 {
		return 0, 0, 0, false
	}
	upper := func(a assess.AlongNeed) float64 {
		if w.Corrected {
			return float64(a.CorrHigh)
		}
		return float64(a.RawHigh)
	}
	low, high := n.Need.Low, n.Need.High
	first, last := w.Along[0], w.Along[len(w.Along)-1]
	if slack := 0.02 * (high - low); first.At > low+slack || last.At < high-slack { // an end was not tried
		return 0, 0, 0, false
	}
	from, to = low+upper(first), high-upper(last)
	below := low
	if low == 0 {
		from, below = math.Inf(-1), math.Inf(-1)
	}
	if !(from < to) { // not-a-number too
		return 0, 0, 0, false
	}
	waters := n.Need.Waters()
	r, ok := w.risk(waters, [2]float64{below, high}, [2]float64{from, to})
	return math.Max(from, 0), to, 1 - r.Accepted, ok
}
