package knownwater

import "math"

// A need in a person's words. Each becomes a range and the error permitted there, so
// that everything that is judged goes one way.
//
// Two results that are each within ±e of the truth in 95 of 100 cases, by errors that
// have nothing in common, differ by at most √2·e from the true difference as often
// (JCGM 100:2008, 5.1.2). A bias cancels in a difference and is held against the method
// all the same: who sees changes today wants levels tomorrow.

// Hold is to keep a water from low to high: a quarter of the width at both ends, so that
// half of the range is told apart from what lies outside (common practice, no source).
func Hold(low, high float64) Need {
	return flat(low, high, (high-low)/4)
}

// SeeRise is to see a rise of so much from at, by one result before and one after.
func SeeRise(of, at float64) Need {
	return notHeld(at, at+of, of/math.Sqrt2)
}

// TellZero is to tell water with none from water with x: the critical value lies half
// way, with at most 5 % wrong on either side, so σ = x ÷ 3.29 (ISO 11843-1: 2 · 1.645 σ)
// and 95 of 100 results within 1.96 σ.
func TellZero(x float64) Need {
	return notHeld(0, x, 1.959963984540054/(2*1.6448536269514722)*x)
}

// SpotMore is to spot more than x: from two thirds of it to a third above, within a
// quarter of it (common practice, no source).
func SpotMore(x float64) Need {
	return notHeld(2*x/3, 4*x/3, x/4)
}

// Compare is to see a difference between two waters around at over some weeks, by the
// averages of all results of each: d·√(n/2) permitted of each of n results.
func Compare(difference, at, weeks, testsAMonth float64) Need {
	n := math.Max(1, math.Floor(testsAMonth*weeks*12/52+1e-9))
	return notHeld(math.Max(0, at-difference), at+difference, difference*math.Sqrt(n/2))
}

func flat(low, high, e float64) Need {
	return Need{Low: low, High: high, Permitted: []Permit{{low, e}, {high, e}}}
}

// notHeld is a need to see something, not to hold a range.
func notHeld(low, high, e float64) Need {
	n := flat(low, high, e)
	n.NotHeld = true
	return n
}
