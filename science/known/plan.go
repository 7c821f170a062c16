package known

import (
	"fmt"
	"math"
	"sort"

	"knownwater"
	"knownwater/science/unit"
)

// Plan is one way to make all the levels, with its standards as planned.
type Plan struct {
	Preparation Preparation
	Set         Set
	Stock       string  // the stock that all levels come from
	Score       float64 // what Search makes small, see there
	RelativeU   float64 // geometric mean of u/value over the levels with an addition
	Steps       int     // measurements in all
	Waste       float64 // mL made beyond the volume asked for
	Searched    int     // ways looked at
}

// Prices turn handwork into uncertainty, so that a chain with more steps must
// earn them: each measurement must lower the score of one level, ln(u/value),
// by stepPrice, each further volume of solution made by volumePrice. They only
// decide between nearly equal plans.
const (
	stepPrice   = 0.02
	volumePrice = 0.005
)

// Search finds, for the asked levels, the preparation with the smallest score
//
//	Σ over levels [ln(u/value) + |value/level − 1|] + stepPrice·measurements + volumePrice·volumes made
//
// among all chains from one stock, direct or through intermediates, with every
// owned device at every count of deliveries, by volume or by weight, that keep
// to the limits. u is the whole uncertainty of the level (stock, devices with
// what the steps share, temperature, background). Amounts that a device can
// choose freely are matched to the level; for intermediates strengths are tried
// on a grid and then, around the best, at every strength that lets a pipette
// work at its full volume. The best set of intermediates is found by bounds;
// limits on bottles (stock left, matrix left, the intermediate's own volume)
// and steps are kept by a second one over the ways of each level. Within the
// tried amounts the result is the optimum; where shortage forces the second
// search past its budget (see mostNodes) it is the best one found.
//
// Level 0 is the matrix itself. The shelf must be without faults.
func Search(s Shelf, levels []float64) (Plan, knownwater.Faults) {
	if faults := checkLevels(s, levels); len(faults) > 0 {
		return Plan{}, faults
	}
	targets := rising(levels)
	var best *Plan
	var faults knownwater.Faults
	searched := 0
	for i := range s.Stocks {
		p := newPlanner(s, i)
		plan, why := p.search(targets)
		searched += p.searched
		if plan == nil {
			faults = append(faults, why...)
			continue
		}
		if best == nil || plan.Score < best.Score {
			best = plan
		}
	}
	if best == nil {
		return Plan{}, faults
	}
	best.Searched = searched
	best.finish(s)
	return *best, nil
}

// finish adds what follows from the preparation.
func (p *Plan) finish(s Shelf) {
	p.Set = Evaluate(s, p.Preparation)
	logs, n := 0.0, 0.0
	for _, st := range p.Set.Standards {
		if st.Solution.From != "" {
			logs += math.Log(st.U / st.Value.Value)
			n++
		}
	}
	p.RelativeU = math.Exp(logs / math.Max(n, 1))
	made := p.Preparation.volumes(s)
	used := p.Preparation.used(made)
	p.Steps, p.Waste = 0, 0
	for _, x := range p.Preparation {
		if x.From == "" {
			continue
		}
		p.Steps += x.Take.Times + 1
		if s.device(x.Take.Device).Kind == Dropper {
			p.Steps -= x.Take.Times - 1 // drops are counted in one go
		}
		if x.Standard {
			p.Waste += made[x.Name].whole - s.Limits.Volume
		} else {
			p.Waste += made[x.Name].whole - used[x.Name]
		}
	}
}

func rising(levels []float64) []float64 {
	out := append([]float64(nil), levels...)
	sort.Float64s(out)
	return out
}

// mostLevels bounds the work; no trial has so many.
const mostLevels = 60

// mostDilution is beyond what two intermediates can do with care.
const mostDilution = 1e7

// checkLevels finds levels that no chain can reach.
func checkLevels(s Shelf, levels []float64) knownwater.Faults {
	var l faultList
	if len(levels) == 0 {
		l.add("levels", "the concentrations to make, such as 0 1 3 10 30", "no level")
	}
	if len(levels) > mostLevels {
		l.add("levels", fmt.Sprintf("at most %d", mostLevels), "%d levels", len(levels))
	}
	strongest, name := 0.0, ""
	for _, st := range s.Stocks {
		if v := s.stockValue(st); v > strongest {
			strongest, name = v, st.Name
		}
	}
	f := s.toBase()
	seen := map[float64]bool{}
	for _, level := range levels {
		place := fmt.Sprintf("level %g", level)
		switch {
		case !(level >= 0) || math.IsInf(level, 0):
			l.add(place, "0 or more", "not a concentration")
		case seen[level]:
			l.add(place, "each level once", "it stands twice")
		case level*f >= strongest:
			l.add(place, fmt.Sprintf("a level below it, or a stronger stock (in %s)", s.Scale), "the strongest stock, %q, holds %s", name, unit.Round(strongest/f, 0))
		case level > 0 && !s.Limits.Added && level <= s.Matrix.Background:
			l.add(place, "a cleaner matrix, or 0 for the matrix itself as a blank", "the matrix alone holds %s already", unit.Round(s.Matrix.Background, s.Matrix.U))
		}
		if level > 0 && level*f < strongest/mostDilution {
			l.add(place, "a weaker stock", "the strongest stock, %q, is more than %g times as strong", name, mostDilution)
		}
		seen[level] = true
	}
	return l.faults
}

// stockValue is a stock's concentration in mg/L.
func (s Shelf) stockValue(st Stock) float64 {
	m := build(Shelf{Scale: s.Scale, Room: s.Room, Matrix: s.Matrix, Devices: s.Devices, Stocks: []Stock{st}}, nil)
	return m.run(means(m.inputs))[0].c
}
