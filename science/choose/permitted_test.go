package choose

import (
	"testing"

	"knownwater/science/assess"
	"knownwater/science/num"
)

// An average that was worked out as read may, corrected, do with less than is permitted now, and be cheaper than the way that
// is named for then: what wrong calls by it cost as read does not hold for it corrected.
func TestAveragesMayDoWithLess(t *testing.T) {
	way := func(tests int, corrected bool, money, loss, high float64) Way {
		w := Way{Use: Use{Tests: tests, Corrected: corrected}, Verdict: assess.Fit, Error: Error{High: num.Number(high), Permitted: 1},
			Along: []assess.AlongNeed{{At: 4, Permitted: 1, RawHigh: num.Number(high), CorrHigh: num.Number(high)}}}
		w.Cost.Money, w.Loss.Money = num.Number(money), num.Number(loss)
		return w
	}
	n := NeedChoice{Need: need, Use: 0, Ways: []Way{way(1, true, 19, 0, 0.72), way(2, false, 38, 20, 0.99), way(1, true, 42, 0, 0.03)}}
	x := Loosened{Times: 0.72, From: 2, To: 0}
	if !n.MayDoWithLess(x) {
		t.Error("nothing is said of the average of two, which corrected costs 38 and what few wrong calls cost, against 42")
	}
	n.Ways[1].Cost.Money = 43
	if n.MayDoWithLess(x) {
		t.Error("an average that costs more than the way that is named would not be taken before it")
	}
}
