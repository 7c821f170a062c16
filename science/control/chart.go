package control

import (
	"math"
	"slices"
)

// State is whether a method holds.
type State string

// The states.
const (
	Holds     State = "holds"
	Moved     State = "moved"
	Undecided State = "undecided"
)

// Rule is what signalled.
type Rule string

// The rules.
const (
	OneCheck   Rule = "one check alone"      // individuals, or a step too rare
	RunningSum Rule = "the running sum"      // CUSUM
	Weighted   Rule = "the weighted average" // EWMA
)

// Point is a check on the charts.
type Point struct {
	Seen     [2]float64 // in standard deviations of a check that has not moved
	Up, Down float64    // the running sums after it
	Average  float64    // numbers only
}

// Chart is what a row of checks says.
type Chart struct {
	Limits
	State    State
	Points   []Point
	Rule     Rule    // the first that signalled, and on which check
	Signal   int     // −1: none
	Power    float64 // how likely these many checks were to ring where a shift of Limits.Shift was there from their first on
	Onset    Onset   // of a method that moved; of another how likely it has, alone
	NoLimits bool    // no chart can be drawn
	Now      Reads   // by all checks together
}

// enough chance to have been seen: a method holds when a shift would have shown in four of
// five cases.
const enough = 0.8

// unlikely odds of having moved leave a method holding, and a chance of mostOff that it reads otherwise by as much as its charts are aimed at.
const (
	unlikely = 0.2
	mostOff  = 0.05
)

// Of draws a row's charts. A method has moved where a chart has rung and all checks together
// make it likelier than not, for good or for a while; it holds where a shift of Limits.Shift would by now have
// been signalled with a chance of enough and all checks together make one unlikely, of its record's error as of a method that has moved,
// so that a chart that has rung gave a false alarm; else it is undecided.
//
// solved remembers limits; nil: nobody does.
func Of(r Row, solved *Solved) Chart {
	c := Chart{Signal: -1, State: Undecided}
	if len(r.Checks) == 0 {
		c.NoLimits = true
		return c
	}
	ms := r.models()
	var ok bool
	if c.Limits, ok = solved.limits(r, ms); !ok {
		c.NoLimits = true
		return c
	}
	c.run(r)
	c.Power = c.power(ms, min(len(r.Checks), Furthest))
	c.Onset.Odds = oddsOf(r, c.Signal >= 0)
	c.Now = Now(r)
	switch {
	case c.Signal >= 0 && c.Onset.Odds > 1:
		c.State, c.Onset = Moved, firstOnset(r, c.Signal, c.Limits.Shift)
	case c.Enough() && c.Onset.Odds < unlikely && c.Now.beyond(c.Limits.Shift) <= mostOff: // after a ring: it was a false alarm
		c.State = Holds
	}
	return c
}

// Likelier are places of draws, each as often as checks that did not move make it likely: what
// a known reads is known better by them than by the record alone, and never lies beyond what
// the record leaves open. All checks' draws are the same draws.
func Likelier(checks []Check) []int {
	n := len(checks[0].Draws)
	weight, top := make([]float64, n), math.Inf(-1)
	for d := range weight {
		for _, c := range checks {
			weight[d] += c.Draws[d].logChance(c.Seen)
		}
		top = math.Max(top, weight[d])
	}
	total := 0.0
	for d := range weight {
		weight[d] = math.Exp(weight[d] - top)
		total += weight[d]
	}
	out, sum := make([]int, 0, n), 0.0
	for d, w := range weight {
		for sum += w / total * float64(n); float64(len(out))+0.5 < sum && len(out) < n; {
			out = append(out, d)
		}
	}
	for len(out) < n { // what rounding left
		out = append(out, out[len(out)-1])
	}
	return out
}

// Enough says whether there are as many checks as it takes.
func (c *Chart) Enough() bool { return c.Power >= enough }

func (c *Chart) run(r Row) {
	now := charts{up: headStart * c.Sum, down: headStart * c.Sum}
	for i, k := range r.Checks {
		u := k.unit()
		seen := u.in(k.Seen)
		p := Point{Seen: [2]float64{seen.Low, seen.High}}
		var rule Rule
		if r.Tiles == nil {
			rule = c.number(&now, value(seen))
			p.Average = now.average
		} else {
			rare := (model{draws: ofUnit(u, k.Draws)}).isRare(seen, c.Rare)
			rule = c.step(&now, score(seen, c.Shift), score(seen, -c.Shift), rare)
		}
		p.Up, p.Down = now.up, now.down
		c.Points = append(c.Points, p)
		if rule != "" && c.Signal < 0 {
			c.Rule, c.Signal = rule, i
		}
	}
}

func ofUnit(u Normal, draws []Normal) []Normal {
	out := make([]Normal, len(draws))
	for i, d := range draws {
		out[i] = u.of(d)
	}
	return out
}

// power is the chance, over the draws and both sides, that a chart has rung by the n-th check where the method moved by Shift before
// the first.
func (c *Chart) power(ms []model, n int) float64 {
	rang := c.rings(ms, 0, eitherWay(c.Shift))
	by, _ := slices.BinarySearch(rang, n+1)
	return float64(by) / float64(len(rang))
}
