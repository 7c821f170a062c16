// Package decide says what to do on a result: leave it, test again, or act, with the risk
// of each stated. Conformity and guard bands are those of JCGM 106:2012.
package decide

import (
	"math"

	"knownwater/science/num"
)

// Advice is what to do.
type Advice string

// The three.
const (
	Leave Advice = "leave"
	Again Advice = "test again"
	Act   Advice = "act"
)

// Side is on which side of what is wanted a water lies.
type Side string

// The sides.
const (
	Inside Side = "inside"
	Below  Side = "below"
	Above  Side = "above"
)

// Chances are those that a water lies below what is wanted, inside, or above.
type Chances struct{ Below, Inside, Above float64 }

// Result is what a decision rests on, from one turn: the chances, and where the 95 % set
// has no end of its own.
type Result struct {
	Chances
	OpenBelow, OpenAbove bool
}

// Decision is what to do and how often it is wrong where what is known is right.
type Decision struct {
	Advice Advice
	Side   Side    // the likeliest
	Risk   float64 // of doing so wrongly; of Again nothing is done, so 0
	// Lacks is by how much the chance of the likeliest side falls short; 0 where it does not.
	Lacks float64
	// Open: the set lacks an end that a decision would rest on, as in a dead zone or beyond
	// what was tried, so nothing is decided by it.
	Open bool
}

// On decides: leave where the water lies inside with at least the chance that somebody
// wants to be sure of, act where it lies below or above with that chance, test again
// otherwise. Nothing is done on a set that goes on without an end: one that is open above
// leaves nothing, since it says nothing of an upper limit; one that is open below says nothing
// of a lower limit above 0; and to act one needs both ends, that which lies nearest to what
// is wanted and that which says how much.
func On(r Result, low, sure float64) Decision {
	d := Decision{Advice: Again, Side: Inside}
	chance := r.Inside
	if r.Below > chance {
		d.Side, chance = Below, r.Below
	}
	if r.Above > chance {
		d.Side, chance = Above, r.Above
	}
	d.Lacks = math.Max(0, sure-chance)
	switch d.Side {
	case Inside:
		d.Open = r.OpenAbove || r.OpenBelow && low > 0
	default:
		d.Open = r.OpenAbove || r.OpenBelow
	}
	if d.Lacks > 0 || d.Open {
		return d
	}
	d.Risk = 1 - chance
	if d.Advice = Act; d.Side == Inside {
		d.Advice = Leave
	}
	return d
}

// Conforms is the chance that a quantity lies between two limits, either of which may be
// infinite, where an estimate with standard uncertainty u says that it is normal about it
// (JCGM 106:2012, 7.2 to 7.4).
func Conforms(estimate, u, low, high float64) float64 {
	return num.Phi((high-estimate)/u) - num.Phi((low-estimate)/u)
}

// GuardBand is how far inside both limits an estimate has to lie for the quantity to lie
// between them with chance p (JCGM 106:2012, 8.3, for two limits at once): the g with
// Conforms(low + g, u, low, high) = p. Of one limit it is u times the normal quantile of p.
// NaN where even the middle is not sure enough: u is too large for these limits.
func GuardBand(low, high, u, p float64) float64 {
	if !(u > 0) || !(p > 0.5 && p < 1) || !(low < high) {
		return math.NaN()
	}
	if math.IsInf(low, 0) || math.IsInf(high, 0) {
		return u * num.PhiInv(p)
	}
	half := (high - low) / 2
	if Conforms(low+half, u, low, high) < p {
		return math.NaN()
	}
	g, err := num.Root(func(g float64) float64 { return Conforms(low+g, u, low, high) - p }, 0, half, 1e-13*half)
	if err != nil {
		return math.NaN()
	}
	return g
}
