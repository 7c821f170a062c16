package trials

import (
	"context"
	"fmt"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/note"
	"knownwater/science/plan"
)

// Proposal is what the bench proposes for a plan's levels.
type Proposal struct {
	Knowns []Known // labels filled in, u left 0
	Why    []note.Note
}

// Costs are what a plan takes in tests, hours and money.
type Costs struct {
	Methods  []MethodCost
	Vials    int
	Readings int
	Hours    float64 // of sessions, staggered as scheduled
	Sessions []SessionCost
	Money    float64 // what must be bought on top of what is left
}

// MethodCost is one method's share.
type MethodCost struct {
	Method    string
	Tests     int
	TestsLeft int     // in the chosen lots, else in all; -1: not known
	ToBuy     int     // packs or refills to buy
	Money     float64 // for those; not a number where no price is known
	Value     float64 // worth of all the tests, bought or on the shelf
}

// SessionCost is how long one session takes.
type SessionCost struct {
	Session int
	Vials   int
	Minutes float64
}

// ProposeKnowns proposes levels between the swatches of the plan's methods and
// around the limits of its needs, with a blank.
func (b *Operations) ProposeKnowns(ctx context.Context, p Plan) (out Proposal, err error) {
	err = b.read(ctx, func(t tx) error {
		whole, err := t.named(p)
		if err != nil {
			return err
		}
		methods, err := whole.methodsOnScale()
		if err != nil {
			return err
		}
		needs, err := whole.needsOnScale()
		if err != nil {
			return err
		}
		for _, l := range plan.Levels(methods, needs) {
			k := Known{Label: fmt.Sprintf("%g %s", l.Level, p.Scale), Level: l.Level}
			if l.Level == 0 {
				k.Label, k.Blank = "blank", true
			}
			out.Knowns, out.Why = append(out.Knowns, k), append(out.Why, l.Why)
		}
		return nil
	})
	return out, err
}

// Costs works out tests, hours and money of a plan.
func (b *Operations) Costs(ctx context.Context, p Plan) (c Costs, err error) {
	err = b.read(ctx, func(t tx) error {
		whole, err := t.sealable(p)
		if err != nil {
			return err
		}
		vials, err := plan.Lay(whole.design(), max(1, p.Seed))
		if err != nil {
			return err
		}
		c = whole.costs(vials)
		return nil
	})
	return c, err
}

func (p fullPlan) costs(vials []plan.Vial) Costs {
	c := Costs{Vials: len(vials)}
	tests := make([]int, len(p.methods))
	perSession := make([][]plan.Vial, p.Sessions)
	for _, v := range vials {
		tests[v.Method]++
		c.Readings += len(v.Readers)
		perSession[v.Session-1] = append(perSession[v.Session-1], v)
	}
	for i, m := range p.methods {
		left := p.left(i)
		s := m.Spec
		bill := plan.Supply{Left: left, PackPrice: s.PackPrice, PackTests: s.PackTests, RefillPrice: s.RefillPrice, RefillTests: s.RefillTests}.Bill(tests[i])
		c.Methods = append(c.Methods, MethodCost{s.Name, tests[i], left, bill.Buy, bill.Money, bill.Value})
		if !math.IsNaN(bill.Money) {
			c.Money += bill.Money
		}
	}
	for i, vs := range perSession {
		length := p.sessionLength(vs)
		c.Sessions = append(c.Sessions, SessionCost{i + 1, len(vs), length / 60})
		c.Hours += length / 3600
	}
	return c
}

func (p fullPlan) sessionLength(vials []plan.Vial) float64 {
	var end float64
	slots := p.schedule(vials)
	for i, s := range slots {
		m := p.methods[vials[i].Method].Spec
		steps := plan.StepsOf(m.Steps, m.Minutes, m.HandsOnMinutes)
		end = max(end, s.Read+steps[len(steps)-1].Seconds)
	}
	return end
}

// left is how many tests are left in the chosen lots of a method, or in all.
func (p fullPlan) left(method int) int {
	if len(p.lots[method]) == 0 {
		return p.methods[method].TestsLeft
	}
	left := 0
	for _, l := range p.lots[method] {
		if l.Tests == 0 {
			return -1
		}
		left += max(0, l.Tests-l.Used)
	}
	return left
}

// Forecast simulates the plan with each method's guess and says what it would
// be able to decide: see [plan.Outlook]. It ends early, with what it has, when ctx
// ends, and goes on from there when it is asked again. runs 0 means
// plan.DefaultRuns. One is made at a time, and what was made is remembered.
func (b *Operations) Forecast(ctx context.Context, p Plan, runs int) (out plan.Outlook, err error) {
	var sim plan.SimTrial
	err = b.read(ctx, func(t tx) error {
		whole, err := t.sealable(p)
		if err != nil {
			return err
		}
		sim, err = whole.simulated()
		return err
	})
	if err != nil {
		return plan.Outlook{}, err
	}
	if runs <= 0 {
		runs = plan.DefaultRuns
	}
	f := b.forecasts.Of(forecastKey(sim, runs, p.Seed), func() *plan.Forecast { return plan.NewForecast(sim, runs, max(1, p.Seed), judgeBriefly) })
	select { // whoever has the turn may go on with a forecast
	case b.forecasting <- struct{}{}:
		defer func() { <-b.forecasting }()
	case <-ctx.Done():
		return plan.Outlook{Wanted: runs}, nil
	}
	return f.Run(func() bool { return ctx.Err() != nil }, nil), nil
}

func judgeBriefly(d knownwater.Trial, seed uint64, stop func() bool) assess.Findings {
	return assess.Run(d, assess.Options{Seed: seed, Brief: true, Few: true, Stop: stop})
}

// mostForecasts is how many forecasts are remembered, so that looking at a plan
// again does not simulate again.
const mostForecasts = 16

// forecastKey is all that a forecast is made of, as text.
func forecastKey(s plan.SimTrial, runs int, seed uint64) string {
	methods := slices.Clone(s.Methods)
	var ranges []string
	for i := range methods {
		ranges = append(ranges, fmt.Sprint(methods[i].Range)) // where it points to, not where it stands
		methods[i].Range = nil
	}
	s.Methods = methods
	return fmt.Sprint(s, ranges, runs, seed)
}

// simulated is the plan as a trial to be simulated.
func (p fullPlan) simulated() (s plan.SimTrial, err error) {
	s = plan.SimTrial{Scale: p.Scale, Water: p.Water}
	if s.Vials, err = plan.Lay(p.design(), max(1, p.Seed)); err != nil {
		return s, err
	}
	s.Vials = slices.DeleteFunc(s.Vials, func(v plan.Vial) bool { return p.Knowns[v.Known].Nitrite > 0 }) // they judge no level
	if s.Methods, err = p.methodsOnScale(); err != nil {
		return s, err
	}
	if s.Needs, err = p.needsOnScale(); err != nil {
		return s, err
	}
	for i, m := range s.Methods {
		s.Guesses = append(s.Guesses, p.Methods[i].Guess.Fill(m))
	}
	for _, k := range p.Knowns {
		s.Knowns = append(s.Knowns, plan.SimKnown{Level: k.Level, U: k.U, UShared: k.UShared, UBackground: k.UBackground, Matrix: k.Matrix})
	}
	return s, nil
}
