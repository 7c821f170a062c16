// Package series says what a row of readings over time tells of the level behind them: the
// level on each day, a slope, a trend by ranks, a forecast. It knows no methods: a reading
// is an interval on the scale of the level with its own standard deviation, errors that
// readings share are columns beside them.
//
//	walk.go   a level that wanders, read on some days; cost linear in readings
//	seen.go   readings that are intervals, by expectation propagation
//	spread.go how much the level wanders, over all that the readings leave open
//	course.go a level with a slope, both of which wander
//	line.go   a slope through readings of a level that wanders about a line
//	rank.go   a trend by ranks, for readings with open ends
//	returns.go a level that departs from its mean and comes back
//	going.go  how it may go, by what readings say
//	levels.go where it was on each day
//	held.go   how long it was inside a range
//	ends.go   where it may go from the last day
package series

import (
	"math"

	"knownwater/science/num"
)

// Site is what one reading says of the level on its day: a normal density in natural form,
// Precision 1/σ² and Shift y/σ². Precision 0 says nothing.
type Site struct{ Precision, Shift float64 }

// Normal is the site of a value y with standard deviation sd above 0.
func Normal(y, sd float64) Site { return Site{1 / (sd * sd), y / (sd * sd)} }

// Belief is what is known of a level: precision 0 is nothing, every level equally likely.
type Belief struct{ Precision, Shift float64 }

// Mean and Var of the belief; Var is infinite where nothing is known.
func (b Belief) Mean() float64 { return b.Shift / b.Precision }

// Var is 1/Precision.
func (b Belief) Var() float64 { return 1 / b.Precision }

func (b Belief) with(s Site) Belief { return Belief{b.Precision + s.Precision, b.Shift + s.Shift} }

// after is the belief when variance has been added to the level.
func (b Belief) after(variance float64) Belief {
	k := 1 / (1 + b.Precision*variance)
	return Belief{b.Precision * k, b.Shift * k}
}

// Walk is a level that wanders as a random walk: its variance grows by PerDay in each day.
// Days are those of the readings, never falling. Before the first every level is
// equally likely.
type Walk struct {
	Days   []float64
	PerDay float64
}

func (w Walk) gap(i int) float64 { return w.PerDay * (w.Days[i] - w.Days[i-1]) }

// forward is what all readings before each say of its day, backward what all after it say.
func (w Walk) forward(sites []Site, out []Belief) {
	out[0] = Belief{}
	for i := 1; i < len(sites); i++ {
		out[i] = out[i-1].with(sites[i-1]).after(w.gap(i))
	}
}

func (w Walk) backward(sites []Site, out []Belief) {
	n := len(sites)
	out[n-1] = Belief{}
	for i := n - 2; i >= 0; i-- {
		out[i] = out[i+1].with(sites[i+1]).after(w.gap(i + 1))
	}
}

// Smoothed is the level on every day given all readings, by the two-filter formula: what
// those before say, times what those after say, times the reading's own (J. Durbin &
// S. J. Koopman, Time Series Analysis by State Space Methods, 2nd ed. 2012, chapter 4, gives
// the same states by its smoother). Exact for normal sites.
func (w Walk) Smoothed(sites []Site) []Belief {
	n := len(sites)
	ahead, back := make([]Belief, n), make([]Belief, n)
	w.forward(sites, ahead)
	w.backward(sites, back)
	for i := range ahead {
		ahead[i] = ahead[i].with(Site(back[i])).with(sites[i])
	}
	return ahead
}

// logMass is the logarithm of the integral over all levels of the walk's density times
// Π exp(Shift·x − Precision·x²/2): of sites without their constants.
func (w Walk) logMass(sites []Site) float64 {
	var sum num.Sum
	ahead := make([]Belief, len(sites))
	w.forward(sites, ahead)
	for i, s := range sites {
		sum.Add(logJoin(ahead[i], s))
	}
	return sum.Value()
}

// logJoin is log ∫ N(x; belief)·exp(Shift·x − Precision·x²/2) dx; the belief that says
// nothing is the constant 1.
func logJoin(b Belief, s Site) float64 {
	if s.Precision == 0 {
		return 0
	}
	if b.Precision == 0 {
		return 0.5*math.Log(2*math.Pi/s.Precision) + 0.5*s.Shift*s.Shift/s.Precision
	}
	m, v := b.Mean(), b.Var()
	k := 1 + s.Precision*v
	return -0.5*math.Log(k) - 0.5*(m*m*s.Precision-2*m*s.Shift-s.Shift*s.Shift*v)/k
}
