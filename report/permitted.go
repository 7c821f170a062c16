package report

import (
	"cmp"
	"strconv"

	"knownwater/science/num"
)

// besidePermitted is an error by its best value and limits, and what is permitted there, as they are written beside
// each other. Where rounding would put a limit on what is permitted, or on its other side, all of them get the digits
// that show on which side it lies: “7 to 15 of 15” is undecided at 15.4 of 15.3.
func (l speech) besidePermitted(est, low, high, permitted num.Number) (v estimate, p string) {
	plain := halfWidth(est, low, high)
	for n, u := 2, plain; n <= mostDigits && permitted.OK(); n, u = n+1, u/10 {
		if p = idle(digits(float64(permitted), n)); sameSide(low, permitted, u, p) && sameSide(high, permitted, u, p) {
			return l.roundedBy(u, est, low, high, false), p
		}
	}
	return l.roundedBy(plain, est, low, high, false), brief(float64(permitted))
}

// mostDigits of what is permitted are written: a side that takes more nobody can mean.
const mostDigits = 4

// sameSide says whether a limit lies to what is permitted, written p, as it does when it is rounded by u.
func sameSide(limit, permitted num.Number, u float64, p string) bool {
	if !limit.OK() {
		return true
	}
	a, errA := strconv.ParseFloat(rounded(float64(limit), u, false), 64)
	b, errB := strconv.ParseFloat(p, 64)
	return errA != nil || errB != nil || cmp.Compare(a, b) == cmp.Compare(limit, permitted)
}
