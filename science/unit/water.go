package unit

import (
	"fmt"
	"math"
)

// Water is the sea water that a concentration is in, for mg/L against mg/kg.
type Water struct {
	Salinity    float64 // practical salinity; 0 is pure water
	Temperature float64 // °C, ITS-90
}

// StandardSea is the sea water of unit tables: practical salinity 35 at 25 °C.
var StandardSea = Water{Salinity: 35, Temperature: 25}

// Valid says whether the density formula holds for the water: practical
// salinity 0 to 42, −2 to 40 °C.
func (w Water) Valid() error {
	if !(w.Salinity >= 0 && w.Salinity <= 42) {
		return fmt.Errorf("salinity %v: a practical salinity from 0 to 42 is needed (sea water: about 35)", w.Salinity)
	}
	if !(w.Temperature >= -2 && w.Temperature <= 40) {
		return fmt.Errorf("temperature %v: °C from -2 to 40 is needed (a room: about 20 to 25)", w.Temperature)
	}
	return nil
}

// Density is the density of the water at one atmosphere in kg/L.
//
// International equation of state EOS-80: Millero & Poisson 1981; UNESCO
// Technical Papers in Marine Science 36 and 44. It is a polynomial in the
// temperature of the scale of 1968, t68 = 1.00024·t90, good to about
// 0.004 kg/m³ for salinities 0 to 42 and −2 to 40 °C. Outside it is NaN.
func (w Water) Density() float64 {
	if w.Valid() != nil {
		return math.NaN()
	}
	t, s := 1.00024*w.Temperature, w.Salinity
	pure := polynomial(t, 999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
	a := polynomial(t, 8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
	b := polynomial(t, -5.72466e-3, 1.0227e-4, -1.6546e-6)
	return (pure + s*(a+b*math.Sqrt(s)+4.8314e-4*s)) / 1000
}

// polynomial is c[0] + c[1]·x + c[2]·x² + … by Horner's rule.
func polynomial(x float64, c ...float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*x + c[i]
	}
	return sum
}
