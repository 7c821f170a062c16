// Package unit is the one place where concentrations get and change their unit
// and basis, and where numbers are rounded for people.
package unit

import "fmt"

// Scale says what a concentration's number means: of what, per what, counted
// as what (nitrate in mg/L as NO3). Parse makes one in its settled spelling.
type Scale struct {
	Analyte string // nitrate
	Unit    string // mg/L, mg/kg, umol/L, umol/kg, dKH, …
	Basis   string // NO3, N, PO4, P, …; empty where there is only one
}

// String is the scale for people, without the analyte: "mg/L NO3", "µmol/kg".
// A count of molecules is the same in every basis, so it shows none.
func (s Scale) String() string {
	m, known := measures[s.Unit]
	if !known {
		return s.Unit
	}
	if s.Basis == "" || m.dimension != mass {
		return m.shown
	}
	return m.shown + " " + s.Basis
}

// Factor is what a number on scale from must be multiplied by to stand on
// scale to: by molar mass between mass and amount, by the density of water w
// between a litre and a kilogram. The water matters only in the second case.
func Factor(from, to Scale, w Water) (float64, error) {
	f, err := settle(from)
	if err != nil {
		return 0, err
	}
	t, err := settle(to)
	if err != nil {
		return 0, err
	}
	if f.scale.Analyte != t.scale.Analyte {
		return 0, fmt.Errorf("%s cannot be turned into %s: both scales must be of one analyte", f.scale.Analyte, t.scale.Analyte)
	}
	factor := f.inBase() / t.inBase()
	if f.measure.per == t.measure.per {
		return factor, nil
	}
	if err := w.Valid(); err != nil {
		return 0, err
	}
	if f.measure.per == kilogram {
		return factor * w.Density(), nil
	}
	return factor / w.Density(), nil
}
