package assess

import (
	"math"

	"knownwater"
)

// agrees is how many standard uncertainties a known may lie beyond a need's
// limit and still count as inside: its value agrees with the limit (k = 2).
const agrees = 2

// tried says whether a known lies in the need's range.
func tried(levels []level, n knownwater.Need) bool {
	for _, l := range levels {
		if l.value >= n.Low-agrees*l.u && l.value <= n.High+agrees*l.u {
			return true
		}
	}
	return false
}

// reach is how far down and up knowns can speak for: the outermost knowns,
// each with its uncertainty. bottom is where the record begins.
func reach(levels []level, bottom float64) (low, high float64) {
	first, last := levels[0], levels[len(levels)-1]
	return math.Min(bottom, first.value-agrees*first.u), last.value + agrees*last.u
}

// withinLimits says whether a method used for a need keeps to its minutes and
// its money: nil where the need limits neither, or where the method's minutes
// or prices, or the tests a month, are not stated and nothing is exceeded. over is the reading above which it is
// diluted and read again, 0: never.
//
// Money a year is that of so many tests in the long run, by pack or refill, whichever is
// cheaper, what spoils and the instrument's share with it (knownwater.Method.MoneyAYear).
func withinLimits(m knownwater.Method, n knownwater.Need, over float64) *bool {
	yes, no := true, false
	known := true
	check := func(limit, is float64, stated bool) bool {
		known = known && (limit == 0 || stated)
		return limit == 0 || !stated || is <= limit
	}
	average, most := n.TestsAnAnswer(over)
	money, _, priced := m.MoneyAYear(n.TestsAMonth * average)
	ok := check(n.MinutesAtMost, m.Minutes*most, m.Minutes > 0)
	ok = check(n.MoneyAYear, money, priced && n.TestsAMonth > 0) && ok
	switch {
	case !ok:
		return &no
	case known && (n.MinutesAtMost > 0 || n.MoneyAYear > 0):
		return &yes
	}
	return nil
}
