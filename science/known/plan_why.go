package known

import (
	"fmt"

	"knownwater"
	"knownwater/science/unit"
)

// why tells what stands in the way of the levels that no source reaches.
func (p *planner) why(sources []source, levels []float64) knownwater.Faults {
	var l faultList
	for _, level := range levels {
		if level == 0 {
			continue
		}
		p.blocked = [len(hurdles)]int{}
		reached := false
		for i := range sources {
			reached = reached || len(p.ways(&sources[i], level*p.toBase)) > 0
		}
		if !reached {
			hurdle := p.hurdle(level)
			l.add(fmt.Sprintf("level %g", level), hurdle.Want, "no chain from stock %q reaches it within the limits: %s", p.root.name, hurdle.Found)
		}
	}
	if len(l.faults) == 0 {
		l.add("levels", "more stock or matrix, fewer levels, a smaller volume, or more steps", "each level can be made, but not all of them from the stock (%s mL) and matrix there is", unit.Round(p.root.volume, 0))
	}
	return l.faults
}

// Why a way falls out, from the first hurdle to the last.
const (
	noDevice = iota
	tooSmall
	notClose
	saltTooFar
)

// hurdles are the faults that a way falls out by, and what would help against each.
var hurdles = [...]knownwater.Fault{
	noDevice: {Found: "no device measures the amount that is needed",
		Want: "a smaller pipette, a finer scale, more deliveries, an intermediate (limits intermediates), or a larger volume"},
	tooSmall:   {Found: "the amount is below the smallest usable volume", Want: "an intermediate, a scale, or a larger volume"},
	notClose:   {Found: "no setting comes close enough to the level", Want: "an adjustable pipette or a scale, or a larger level_within"},
	saltTooFar: {Found: "salinity would be cut too far", Want: "a stronger stock, an intermediate made in the matrix, or a larger salinity_cut"},
}

// hurdle is the last one that any way to a level came to.
func (p *planner) hurdle(level float64) knownwater.Fault {
	if len(p.fills[InMatrix]) == 0 {
		return knownwater.Fault{Found: "no flask or scale holds %g mL",
			Want: "a flask of that size, a scale that carries it, or a smaller volume"}.Of(p.limits.Volume)
	}
	if cut := level * p.toBase / p.root.c; cut > p.limits.SalinityCut {
		return knownwater.Fault{Found: "salinity would be cut by %.1f %%, the limit is %.1f %%",
			Want: "a stock of %s or more, or a larger salinity_cut"}.Of(100*cut, 100*p.limits.SalinityCut, unit.Round(level/p.limits.SalinityCut, 0))
	}
	for i := len(hurdles) - 1; i >= 0; i-- {
		if p.blocked[i] > 0 {
			return hurdles[i]
		}
	}
	return knownwater.Fault{Found: "no device takes from the stock", Want: "a pipette, a syringe or a scale"}
}
