package known

import (
	"knownwater/science/errorpart"
	"knownwater/science/unit"
)

// state is a solution under one set of errors.
type state struct {
	c       float64 // mg/L
	matrix  float64 // share of its volume that is salt matrix
	density float64 // kg/L

	taken, whole float64 // mL of its parent in it, and of it in all; 0 for stocks and the matrix
}

// model is the whole preparation as one function of all its errors.
type model struct {
	shelf  Shelf
	inputs []errorpart.Input
	at     map[string]int
	makers []func(x []float64, made []state) state // one a stock or solution, in order
	index  map[string]int                          // name → maker
	air    float64                                 // density of air, kg/L
	water  float64                                 // density of pure water
	sea    float64                                 // density of the matrix
	back   int                                     // input: background, mg/L
}

// Kinds of error parts, as they are named to people.
const (
	KindStock       = "stock"
	KindPurity      = "purity"
	KindMolar       = "molar masses"
	KindBackground  = "background"
	KindDevice      = "glassware and pipettes"
	KindScale       = "scale"
	KindRepeat      = "repeatability"
	KindTemperature = "temperature"
	KindDensity     = "density of the stock"
	KindEvaporation = "evaporation"
)

// pureWater is the density of pure water in kg/L.
func pureWater(temperature float64) float64 { return unit.Water{Temperature: temperature}.Density() }

// build makes the model of a checked preparation with a checked shelf.
func build(s Shelf, p Preparation) *model {
	m := &model{
		shelf: s, at: map[string]int{}, index: map[string]int{},
		air: roomAir(s.Room.Temperature), water: pureWater(s.Room.Temperature), sea: s.water().Density(),
	}
	zero := 0.0
	f := s.toBase()
	m.back = m.in(errorpart.Input{Name: "background", Kind: KindBackground, Value: s.Matrix.Background * f, U: s.Matrix.U * f, NotBelow: &zero})
	for _, st := range s.Stocks {
		m.add(st.Name, m.stock(st))
	}
	for _, x := range p {
		m.add(x.Name, m.solution(x))
	}
	return m
}

func (m *model) add(name string, make func([]float64, []state) state) {
	m.index[name] = len(m.makers)
	m.makers = append(m.makers, make)
}

// in puts an input into the model, once a name.
func (m *model) in(input errorpart.Input) int {
	if i, found := m.at[input.Name]; found {
		return i
	}
	m.inputs = append(m.inputs, input)
	m.at[input.Name] = len(m.inputs) - 1
	return len(m.inputs) - 1
}

// run makes every stock and solution under one set of errors.
func (m *model) run(x []float64) []state {
	made := make([]state, 0, len(m.makers))
	for _, f := range m.makers {
		made = append(made, f(x, made))
	}
	return made
}

// solution mixes: what was taken of the parent, and the diluent up to the
// whole; volumes are taken to add up (salt solutions this thin shrink on mixing
// by far less than any flask's limit):
//
//	c = (c_parent·V_taken + c_diluent·(V − V_taken)) / V
func (m *model) solution(x Solution) func([]float64, []state) state {
	diluent := func(v []float64) state { return state{c: v[m.back], matrix: 1, density: m.sea} }
	if x.In == InWater {
		diluent = func([]float64) state { return state{density: m.water} }
	}
	if x.From == "" {
		return func(v []float64, _ []state) state { return diluent(v) }
	}
	parent := m.index[x.From]
	taken := m.taken(x)
	whole := m.whole(x)
	return func(v []float64, made []state) state {
		p, d := made[parent], diluent(v)
		part := taken(v, p)
		total := whole(v, part, p, d)
		r := part / total
		return state{
			c:       r*p.c + (1-r)*d.c,
			matrix:  r*p.matrix + (1-r)*d.matrix,
			density: r*p.density + (1-r)*d.density,
			taken:   part, whole: total,
		}
	}
}

// taken is the volume of parent that was taken, in mL.
func (m *model) taken(x Solution) func(v []float64, parent state) float64 {
	d := *m.shelf.device(x.Take.Device)
	if d.Kind == Scale {
		weight := m.weight(d, x.Take.Amount, "weighing what goes into "+x.Name)
		return func(v []float64, p state) float64 { return weight(v) * volumePerGram(p.density, m.air) }
	}
	volume := m.volume(d, x.Take.Amount, x.Take.Times, "delivery into "+x.Name)
	return func(v []float64, _ state) float64 { return volume(v) }
}

// whole is the volume of the finished solution, in mL. On a scale it is what
// was taken plus the volume of the rest by its weight.
func (m *model) whole(x Solution) func(v []float64, part float64, parent, diluent state) float64 {
	d := *m.shelf.device(x.Make.Device)
	if d.Kind == Scale {
		weight := m.weight(d, x.Make.Amount, "weighing the whole of "+x.Name)
		return func(v []float64, part float64, p, dil state) float64 {
			rest := weight(v) - part/volumePerGram(p.density, m.air)
			return part + rest*volumePerGram(dil.density, m.air)
		}
	}
	volume := m.volume(d, d.Nominal, 1, "filling of "+x.Name)
	return func(v []float64, _ float64, _, _ state) float64 { return volume(v) }
}

// volume is what a device delivers in all at a setting: the error that it
// makes every time counts in full each time, the scatter by the root.
func (m *model) volume(d Device, amount float64, times int, what string) func([]float64) float64 {
	u := d.use(amount)
	n := float64(times)
	always := m.in(errorpart.Input{Name: u.limitName, Kind: KindDevice, U: u.limitU, Shape: shapeOf(u.limitShape, u.limitDF), Degrees: u.limitDF})
	scatter := m.in(errorpart.Input{Name: what, Kind: KindRepeat, U: u.random * sqrt(n), Degrees: u.randomDF})
	warmth := m.in(errorpart.Input{Name: "temperature at the " + what, Kind: KindTemperature, U: errorpart.RectangularU(m.shelf.Room.Within), Shape: errorpart.Rectangular})
	expansion := m.shelf.expansion()
	return func(v []float64) float64 {
		return (n*(amount+u.correction+v[always]) + v[scatter]) * (1 - expansion*v[warmth])
	}
}

// weight is the true apparent weight behind a display, in g.
func (m *model) weight(d Device, shown float64, what string) func([]float64) float64 {
	u := d.use(shown)
	off := m.in(errorpart.Input{Name: what, Kind: KindScale, U: u.limitU, Shape: u.limitShape})
	scatter := m.in(errorpart.Input{Name: what + ", its last digit", Kind: KindRepeat, U: u.random})
	gain := m.in(errorpart.Input{Name: "gain of " + d.Name, Kind: KindScale, U: errorpart.RectangularU(d.Gain), Shape: errorpart.Rectangular})
	return func(v []float64) float64 { return (shown + v[off] + v[scatter]) * (1 + v[gain]) }
}

// shapeOf turns a limit found by few weighings into a t distribution.
func shapeOf(s errorpart.Shape, df float64) errorpart.Shape {
	if df > 0 {
		return errorpart.Student
	}
	return s
}
