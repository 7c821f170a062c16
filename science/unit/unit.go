// Package unit is the one place where concentrations get and change their unit
// and basis.
package unit

// Scale says what a concentration's number means: of what, per what, counted
// as what (nitrate in mg/L as NO3).
type Scale struct {
	Analyte string // nitrate
	Unit    string // mg/L, mg/kg, umol/L, umol/kg, dKH, …
	Basis   string // NO3, N, PO4, P, …; empty where there is only one
}

// Water is the sea water that a concentration is in, for mg/L against mg/kg.
type Water struct {
	Salinity    float64 // practical salinity
	Temperature float64 // °C
}
