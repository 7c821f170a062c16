package known

import (
	"math"

	"knownwater/science/errorpart"
	"knownwater/science/unit"
)

func sqrt(x float64) float64 { return math.Sqrt(x) }

// stock is the state of a stock bottle: its value by certificate or by
// weighing, raised by what has evaporated.
func (m *model) stock(st Stock) func([]float64, []state) state {
	value := m.certified(st)
	if st.Salt != nil {
		value = m.weighed(st.Name, *st.Salt)
	}
	density, uDensity := m.shelf.stockDensity(st)
	d := m.in(errorpart.Input{Name: "density of " + st.Name, Kind: KindDensity, Value: density, U: uDensity, Shape: errorpart.Rectangular})
	perKilogram := st.Salt == nil && isPerKilogram(st.Scale)
	gone := m.in(errorpart.Input{Name: "water lost from " + st.Name, Kind: KindEvaporation, Value: st.Loss, U: st.ULoss})
	return func(v []float64, _ []state) state {
		c := value(v)
		if perKilogram {
			c *= v[d]
		}
		if st.Loss > 0 {
			f, _ := Evaporated(v[gone], 0, st.LossFrom)
			c *= f
		}
		return state{c: c, matrix: 0, density: v[d]}
	}
}

// certified is a certificate's value in mg/L, or in mg/kg where the
// certificate speaks of a kilogram.
func (m *model) certified(st Stock) func([]float64) float64 {
	if st.Salt != nil {
		return nil
	}
	to := m.shelf.base()
	if isPerKilogram(st.Scale) {
		to.Unit = "mg/kg"
	}
	f, _ := unit.Factor(st.Scale, to, m.shelf.water()) // both per litre or both per kilogram: the water does not matter
	i := m.in(errorpart.Input{Name: "stock " + st.Name, Kind: KindStock, Value: st.Value * f, U: st.U * f})
	return func(v []float64) float64 { return v[i] }
}

// weighed is the value of a stock from its salt:
//
//	c [mg/L] = 10⁶ · m[g] · purity · share of the analyte in the salt / V[mL]
//
// as in EURACHEM/CITAC CG4 A1. The buoyancy of the salt itself (0.04 % for
// nitrates) is left out, as there.
func (m *model) weighed(name string, w Weighed) func([]float64) float64 {
	salt, _ := FindSalt(w.Salt, m.shelf.Scale.Analyte)
	share, uShare, _ := salt.fraction(m.shelf.base().Basis)
	return m.dissolved(name, w, share, uShare)
}

func (m *model) dissolved(name string, w Weighed, share, uShare float64) func([]float64) float64 {
	weight := m.weight(*m.shelf.device(w.Scale), w.Mass, "weighing the salt of "+name)
	flask := *m.shelf.device(w.Flask)
	volume := m.volume(flask, flask.Nominal, 1, "filling of "+name)
	purity := m.in(errorpart.Input{Name: "purity of " + name, Kind: KindPurity, Value: w.Purity, U: errorpart.RectangularU(w.PurityWithin), Shape: errorpart.Rectangular})
	molar := m.in(errorpart.Input{Name: "molar masses of " + name, Kind: KindMolar, Value: share, U: uShare})
	return func(v []float64) float64 { return 1e6 * weight(v) * v[purity] * v[molar] / volume(v) }
}

func isPerKilogram(s unit.Scale) bool {
	n := len(s.Unit)
	return n > 3 && s.Unit[n-3:] == "/kg"
}

// stockDensity is the density of a stock in kg/L at room temperature and its
// standard uncertainty: as given, else that of pure water raised by the salt.
// A certified stock's salt is taken to weigh twice its analyte.
func (s Shelf) stockDensity(st Stock) (density, u float64) {
	if st.Density > 0 {
		return st.Density, st.UDensity
	}
	salt := 0.0 // g/L
	if st.Salt != nil {
		if flask := s.device(st.Salt.Flask); flask != nil && flask.Nominal > 0 {
			salt = 1000 * st.Salt.Mass / flask.Nominal
		}
	} else {
		if f, err := unit.Factor(st.Scale, s.base(), unit.Water{Temperature: s.Room.Temperature}); err == nil {
			salt = 2 * st.Value * f / 1000
		}
	}
	return pureWater(s.Room.Temperature) + densityPerGram*salt/1000, errorpart.RectangularU(densityPerGramWithin * salt / 1000)
}
