package known

import (
	"fmt"

	"knownwater"
)

// Diluent is what a solution is filled up with.
type Diluent string

// The diluents: the salt matrix, or pure water (for intermediates).
const (
	InMatrix Diluent = "matrix"
	InWater  Diluent = "water"
)

// Measure is one amount measured with one device: a volume in mL, a weight in
// g on a scale, or a count of drops; Times deliveries of Amount each.
type Measure struct {
	Device string
	Amount float64
	Times  int
}

// Solution is one intermediate or standard as it is to be made or was made:
// Take an amount of From, fill up to Make with In.
type Solution struct {
	Name string
	Code string // what the label says; the value stays off it
	From string // a stock or an earlier solution; empty for the matrix itself
	Take Measure
	Make Measure // a flask (its amount is its size), or a scale with the weight of the whole solution
	In   Diluent

	Standard bool
	Asked    float64 // level that was asked for, on the shelf's scale; standards only
}

// Preparation is a set of solutions in the order of their making.
type Preparation []Solution

// Faults finds what cannot be right in a preparation with the things on the
// shelf. The shelf itself must be without faults.
func (p Preparation) Faults(s Shelf) knownwater.Faults {
	var l faultList
	if len(p) == 0 {
		l.add("solution", "describe what was made, one [[solution]] each", "nothing was prepared")
	}
	made := map[string]bool{}
	for _, x := range p {
		place := fmt.Sprintf("solution %q", x.Name)
		if x.Name == "" {
			l.add("solution", "every solution needs a name", "no name")
		}
		if made[x.Name] || s.stock(x.Name) != nil {
			l.add(place, "give each solution a name of its own", "the name stands twice")
		}
		x.check(place, s, made, &l)
		made[x.Name] = true
	}
	if len(l.faults) == 0 {
		p.checkUse(s, &l)
	}
	return l.faults
}

func (x Solution) check(place string, s Shelf, made map[string]bool, l *faultList) {
	if x.In != InMatrix && x.In != InWater {
		l.add(place+" in", "matrix or water", "%q", x.In)
	}
	if x.Standard && x.In == InWater && s.Matrix.Salinity > 0 {
		l.add(place+" in", "a standard is filled up with the matrix, or it judges the method in the wrong water", "a standard in pure water")
	}
	if x.From == "" {
		return // the matrix itself
	}
	if s.stock(x.From) == nil && !made[x.From] {
		l.add(place+" from", "a stock on the shelf or a solution further up", "%q", x.From)
	}
	take := s.device(x.Take.Device)
	switch {
	case take == nil || take.Kind == Flask:
		l.add(place+" take device", "a pipette, syringe, dropper or scale on the shelf", "%q", x.Take.Device)
	default:
		checkTake(place+" take", *take, x.Take, l)
	}
	fill := s.device(x.Make.Device)
	switch {
	case fill == nil || (fill.Kind != Flask && fill.Kind != Scale):
		l.add(place+" make device", "a flask or a scale on the shelf", "%q", x.Make.Device)
	case fill.Kind == Scale && !(x.Make.Amount > 0 && x.Make.Amount <= fill.Nominal):
		l.add(place+" make amount", fmt.Sprintf("grams of the whole solution, at most %g", fill.Nominal), "%v", x.Make.Amount)
	}
	if take != nil && fill != nil && len(l.faults) == 0 && x.takenVolume(s) >= x.madeVolume(s) {
		l.add(place, "the whole is more than what is taken into it", "%.4g mL taken into %.4g mL", x.takenVolume(s), x.madeVolume(s))
	}
}

func checkTake(place string, d Device, m Measure, l *faultList) {
	if m.Times < 1 || m.Times > 1000 {
		l.add(place+" times", "1 or more deliveries", "%d", m.Times)
	}
	switch {
	case !(m.Amount > 0):
		l.add(place+" amount", "an amount above 0", "%v", m.Amount)
	case d.Kind == OneMark && (m.Amount < 0.97*d.Nominal || m.Amount > 1.03*d.Nominal):
		l.add(place+" amount", fmt.Sprintf("this pipette delivers %g mL; give the number of times", d.Nominal), "%v", m.Amount)
	case d.Kind == Dropper && m.Amount != d.Nominal:
		l.add(place+" amount", fmt.Sprintf("one drop is %g mL; give the number of drops as times", d.Nominal), "%v", m.Amount)
	case d.adjustable() && (m.Amount > d.Nominal*1.0001 || m.Amount < d.smallest()*0.9999):
		l.add(place+" amount", fmt.Sprintf("%g to %g mL with this device", d.smallest(), d.Nominal), "%v", m.Amount)
	case d.Kind == Scale && m.Amount > d.Nominal:
		l.add(place+" amount", fmt.Sprintf("at most %g g on this scale", d.Nominal), "%v", m.Amount)
	case d.Kind == Scale && m.Times != 1:
		l.add(place+" times", "1: weigh the whole amount at once", "%d", m.Times)
	}
}

// takenVolume and madeVolume are rough volumes in mL (within 3 %), for a first check.
func (x Solution) takenVolume(s Shelf) float64 {
	if x.From == "" {
		return 0
	}
	d := s.device(x.Take.Device)
	if d.Kind == Scale {
		return x.Take.Amount / s.densityOf(x.From)
	}
	return x.Take.Amount * float64(x.Take.Times)
}

func (x Solution) madeVolume(s Shelf) float64 {
	d := s.device(x.Make.Device)
	if d == nil {
		return 0
	}
	if d.Kind == Flask {
		return d.Nominal
	}
	if x.In == InWater {
		return x.Make.Amount / pureWater(s.Room.Temperature)
	}
	return x.Make.Amount / s.water().Density()
}

// densityOf is about the density of a stock or solution: stocks by their own
// estimate, solutions as the matrix.
func (s Shelf) densityOf(name string) float64 {
	if st := s.stock(name); st != nil {
		d, _ := s.stockDensity(*st)
		return d
	}
	return s.water().Density()
}

// checkUse sees that no bottle gives more than it holds.
func (p Preparation) checkUse(s Shelf, l *faultList) {
	made := p.volumes(s)
	used := p.used(made)
	for _, st := range s.Stocks {
		if st.Left > 0 && used[st.Name] > st.Left {
			l.add(fmt.Sprintf("stock %q", st.Name), "less, a stronger stock, or more of it", "%.4g mL are used, %g mL are left", used[st.Name], st.Left)
		}
	}
	for _, x := range p {
		if !x.Standard && used[x.Name] > made[x.Name].whole {
			l.add(fmt.Sprintf("solution %q", x.Name), "a larger flask, or make it twice under two names", "%.4g mL are taken from %.4g mL", used[x.Name], made[x.Name].whole)
		}
	}
}

// volumes are the solutions as they come out without errors.
func (p Preparation) volumes(s Shelf) map[string]state {
	m := build(s, p)
	made := m.run(means(m.inputs))
	out := map[string]state{}
	for _, x := range p {
		out[x.Name] = made[m.index[x.Name]]
	}
	return out
}

// used is how many mL of each stock and solution the preparation takes.
func (p Preparation) used(made map[string]state) map[string]float64 {
	used := map[string]float64{}
	for _, x := range p {
		if x.From != "" {
			used[x.From] += made[x.Name].taken
		}
	}
	return used
}

// matrixUsed is how many mL of salt matrix all solutions take.
func (p Preparation) matrixUsed(made map[string]state) float64 {
	sum := 0.0
	for _, x := range p {
		if x.In == InMatrix {
			sum += made[x.Name].whole - made[x.Name].taken
		}
	}
	return sum
}
