package report

import "knownwater"

// Story is how a trial was run, as its bench wrote it down. Times and people
// are words already: whoever tells it decides whose names are told.
type Story struct {
	Unfinished string   // why nothing is settled yet; empty where the stop rule is met
	Facts      []Fact   // when it was planned, its key seen and opened …
	Notes      []string // doubts about how it was run
	Source     string   // the set of standards, and the stocks behind it
	Knowns     []Chain  // the way of each standard from its stock
	LeftOut    []Told
	Dropped    []Told // corrected, taken back, or no reading possible
	Events     []Deed // oldest first
}

// Fact is one thing that the story tells, under its name.
type Fact struct{ Label, Value string }

// Chain is one standard: what it holds, and how it came from its stock.
type Chain struct{ Bottle, Holds, Way, Largest string }

// Told is a reading that the findings do without, and why.
type Told struct{ Vial, Method, Reading, Known, Reader, Why string }

// Deed is one thing that was done.
type Deed struct{ When, Who, What, Why string }

// story is the story with the seal of its key.
func (in Inputs) story() *Story {
	s := in.Story.cleaned()
	if in.Seal != nil && s != nil {
		s.Facts = append(s.Facts, Fact{"Commitment to plan and key, made at sealing", clean(knownwater.Grouped(in.Seal.Commitment))})
	}
	return s
}

// cleaned is the story with what was typed made fit for a page.
func (s *Story) cleaned() *Story {
	if s == nil {
		return nil
	}
	c := Story{Unfinished: full(s.Unfinished), Notes: cleaned(s.Notes)}
	c.Source = full(s.Source)
	for _, k := range s.Knowns {
		c.Knowns = append(c.Knowns, Chain{clean(k.Bottle), clean(k.Holds), clean(k.Way), clean(k.Largest)})
	}
	for _, f := range s.Facts {
		c.Facts = append(c.Facts, Fact{clean(f.Label), clean(f.Value)})
	}
	told := func(list []Told) (out []Told) {
		for _, r := range list {
			out = append(out, Told{clean(r.Vial), clean(r.Method), clean(r.Reading), clean(r.Known), clean(r.Reader), clean(r.Why)})
		}
		return out
	}
	c.LeftOut, c.Dropped = told(s.LeftOut), told(s.Dropped)
	for _, d := range s.Events {
		c.Events = append(c.Events, Deed{clean(d.When), clean(d.Who), clean(d.What), clean(d.Why)})
	}
	return &c
}
